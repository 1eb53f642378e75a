//! The hangar floor as it is met there: small photographs, and air that grows old on a page that
//! lies open.

use serde_json::json;

use crate::bench::at_work;
use crate::driver::there_is_a_browser;
use crate::tab::{Device, Tab};
use crate::workshop::{Served, secret};

/// Signs a reading of the air of the paint booth.
fn read(served: &Served) {
    served.enter(
        "TR",
        "air-reading",
        &[
            ("place", "BOOTH"),
            ("temperature", "18 °C"),
            ("humidity", "60"),
            ("surface", "15 °C"),
        ],
    );
}

/// Lets so many hours pass for the page, which stays as it is.
fn hours_later(tab: &Tab, hours: i64) {
    let script = "document.body.dataset.since = Date.now() - arguments[0] * 3600000;
        dispatchEvent(new Event('pageshow'));";
    tab.run(script, &[json!(hours)]);
}

#[test]
fn a_reading_that_grew_old_on_an_open_page_does_not_look_like_one_of_now() {
    if !there_is_a_browser() {
        return;
    }
    let served = at_work();
    read(&served);
    for path in ["/today", "/today?wall=1"] {
        let phone = Tab::of(&served, "HB", Device::Phone);
        phone.go(path);
        phone.see("[data-lasts]");
        hours_later(&phone, 3);
        assert!(!phone.text().contains("too old"), "{}", phone.text());
        hours_later(&phone, 5);
        phone.read("too old: read it again");
        assert!(!phone.has(".mark.good[data-lasts]") && !phone.has("[data-lasts]"));
        assert!(!phone.text().contains("Counts until"), "{}", phone.text());
        if path == "/today" {
            phone.read("was enough");
            phone.read("This is what it was, not what it is");
            phone.sound(Device::Phone);
        } else {
            assert!(!phone.text().contains("above the dew point"), "{}", phone.text());
        }
        phone.shot(if path == "/today" { "air-old" } else { "air-old-wall" });
    }
}

#[test]
fn a_card_shows_photographs_small_and_leads_to_the_whole() {
    if !there_is_a_browser() {
        return;
    }
    let served = at_work();
    served.enter("TR", "start", &[("job", "ON:PROP-P")]);
    let phone = Tab::of(&served, "TR", Device::Phone);
    let file = served.dir().join("IMG_0001.jpg");
    let mut noise = image::RgbImage::new(2400, 1800);
    let mut state = 7_u32;
    for pixel in noise.pixels_mut() {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        pixel.0 = [(state >> 24) as u8, (state >> 16) as u8, 90];
    }
    noise.save(&file).unwrap();
    phone.go("/card/ON%3APROP-P/sign-step?step=10");
    phone.choose_file("main input[type=file][name*='photographs']:not([capture])", &file);
    phone.fill("_secret", &secret("TR"));
    phone.touch(&phone.see("form.act .sign button"));
    phone.read("Entered as entry");
    phone.see("main .photographs a[href^='/attachments/'] img[src$='/small']");
    phone.run("document.querySelector('.photographs').scrollIntoView()", &[]);
    phone.until("[...document.images].every((i) => i.complete && i.naturalWidth > 1)");
    let sent = phone.run(
        "return performance.getEntriesByType('resource')
            .filter((one) => one.name.includes('/attachments/'))
            .reduce((sum, one) => sum + one.encodedBodySize, 0)",
        &[],
    );
    let (sent, whole) = (sent.as_u64().unwrap(), std::fs::metadata(&file).unwrap().len());
    assert!(sent > 0 && sent * 10 < whole, "{sent} of {whole} bytes");
    phone.sound(Device::Phone);
    phone.shot("card-photographs");
    phone.touch(&phone.see("main .photographs a"));
    phone.until(
        "document.images.length === 1 && document.images[0].naturalWidth === 2400",
    );
}
