//! Readers of problems meet damaged texts: each is refused in words or read, none makes
//! them panic, hang, or forget what they read. A short run; the example `fuzz` is the long one.

#[path = "../fuzz/damage.rs"]
mod damage;

use damage::{Damage, corpus, harm, is_document};

#[test]
fn undamaged_texts_are_read() {
    for (name, text) in corpus() {
        if is_document(name) {
            let read = problems::read(name, &text);
            assert!(read.is_ok(), "{name}: {read:?}");
        } else {
            let read = timetable::instance::parse(name, &text);
            assert!(read.is_ok(), "{name}: {read:?}");
        }
        assert!(harm(name, &text, true).is_none(), "{name}");
    }
}

#[test]
fn damaged_texts_are_refused_in_words_or_read() {
    let mut damage = Damage::new(1, None);
    let mut refused = 0;
    for number in 0..4_000 {
        let (name, text) = damage.next();
        if let Some(harm) = harm(name, &text, false) {
            panic!("text {number}, {name}: {harm}\n{text}");
        }
        let is_read = problems::read(name, &text).is_ok()
            || timetable::instance::parse(name, &text).is_ok();
        refused += usize::from(!is_read);
    }
    // Damage that hurts nothing, or everything, would show nothing.
    assert!((1_000..3_900).contains(&refused), "{refused} of 4000 were refused");
}
