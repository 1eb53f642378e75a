fn main() {
    let d = std::env::args().nth(1).unwrap_or_default();
    let t = std::time::Instant::now();
    match folder::read(std::path::Path::new(&d)) {
        Ok(r) => {
            for w in &r.warnings {
                println!("{w}");
            }
            println!("ok {} items", r.programme.items.len());
        }
        Err(e) => println!("{e}"),
    }
    println!("{:?}", t.elapsed());
}
