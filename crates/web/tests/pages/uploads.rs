//! Files that are sent with forms: known by what they are, cleaned, asked for once.

use crate::client::{Answer, Client};
use crate::html;
use crate::workshop::{Served, secret, served};

/// A PNG picture of one grey pixel (PNG, third edition, sections 5 and 11), with a text in it
/// that says where it was taken.
pub(crate) fn picture(shade: u8) -> Vec<u8> {
    let mut png = b"\x89PNG\r\n\x1a\n".to_vec();
    let header = [0, 0, 0, 1, 0, 0, 0, 1, 8, 0, 0, 0, 0];
    // One stored block of deflate (RFC 1951, 3.2.4) in a zlib stream (RFC 1950): the filter
    // of the line, and the pixel.
    let raw = [0, shade];
    let mut data = vec![0x78, 0x01, 0x01, 2, 0, 0xFD, 0xFF];
    data.extend(raw);
    let (a, b) = raw.iter().fold((1_u32, 0_u32), |(a, b), byte| {
        let a = (a + u32::from(*byte)) % 65_521;
        (a, (b + a) % 65_521)
    });
    data.extend(((b << 16) | a).to_be_bytes());
    for (kind, content) in [
        (b"IHDR", &header[..]),
        (b"tEXt", b"Comment\0taken at the slipway of Sandvik"),
        (b"IDAT", &data),
        (b"IEND", b""),
    ] {
        png.extend(u32::try_from(content.len()).unwrap().to_be_bytes());
        let chunk = [&kind[..], content].concat();
        png.extend(&chunk);
        png.extend(crc(&chunk).to_be_bytes());
    }
    png
}

/// The check of a chunk (PNG, annex D).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            if crc & 1 == 1 { 0xEDB8_8320 ^ (crc >> 1) } else { crc >> 1 }
        })
    })
}

const RAISE: [(&str, &str); 4] =
    [("finding", "X-1"), ("item", "PROP-P"), ("what", "a dent"), ("found", "2032-01-02")];

fn send(
    client: &mut Client,
    fields: &[(&str, &str)],
    files: &[(&str, &str, &[u8])],
) -> Answer {
    let form = client.get("/act/raise");
    assert!(form.body.contains("enctype=\"multipart/form-data\""));
    let secret = secret("HB");
    let filled = Client::filled(&form, fields, &secret);
    let filled: Vec<(&str, &str)> =
        filled.iter().map(|(name, value)| (*name, value.as_str())).collect();
    client.post_files("/act/raise", &filled, files)
}

fn attached(served: &Served) -> usize {
    let proof = app::verify(&served.place, &app::Witnesses::default()).unwrap();
    assert!(proof.faults.is_empty(), "{:?}", proof.faults);
    usize::try_from(proof.verdict.attachments).unwrap()
}

/// The digests in a form that came back.
fn digests(page: &str) -> Vec<String> {
    let from = "name=\"photographs\" value=\"";
    page.split(from).skip(1).map(|rest| rest[..64].to_owned()).collect()
}

/// Nothing runs or is loaded beside a picture; the browser's own style may fit it to the screen.
const PICTURE: &str = "default-src 'none'; style-src 'unsafe-inline'; sandbox";

#[test]
fn photographs_are_cleaned_attached_and_shown() {
    let served = served();
    let mut client = served.person("HB");
    let (one, two) = (picture(1), picture(2));
    let files: [(&str, &str, &[u8]); 3] = [
        ("_file.photographs", "IMG 1.jpeg", &one),
        ("_file.photographs", "..\\..\\IMG2.png", &two),
        ("_file.photographs", "", b""),
    ];
    let answer = send(&mut client, &RAISE, &files);
    assert_eq!(answer.status, 303, "{}", answer.body);
    assert_eq!(attached(&served), 2);
    let page = client.get(answer.to());
    assert_eq!(html::faults(&page.body), [""; 0]);
    let paths: Vec<&str> = page.body.split("<img src=\"").skip(1).collect();
    assert_eq!(paths.len(), 2, "{}", page.body);
    let small = paths[0].split('"').next().unwrap().to_owned();
    let path = small.strip_suffix("/small").unwrap().to_owned();
    assert!(page.body.contains(&format!("<a href=\"{path}\"><img ")));
    let (status, headers, content) = client.bytes(&path);
    assert_eq!((status, headers["content-type"].as_str()), (200, "image/png"));
    for (name, value) in [
        ("x-content-type-options", "nosniff"),
        ("content-security-policy", PICTURE),
        // Whoever signed out, or looks for what was discarded, is not shown what was kept.
        ("cache-control", "private, no-cache"),
    ] {
        assert_eq!(headers[name], value, "{name}");
    }
    assert!(content.starts_with(b"\x89PNG"));
    assert!(!content.windows(7).any(|part| part == b"Sandvik"), "it says where it was");
    let (status, _, content) = served.stranger().bytes(&path);
    assert_eq!((status, content.len()), (303, 0), "only for those who are signed in");
    // A browser that has it asks and is sent nothing (RFC 9110, 13.1.2), if it may look.
    let mut has = served.person("TR");
    has.headers.push(("if-none-match".into(), format!("\"x\", {}", headers["etag"])));
    let answer = has.get(&path);
    assert_eq!((answer.status, answer.bytes.len()), (304, 0));
    has.cookies.clear();
    assert_eq!(has.get(&path).status, 303);
    for odd in ["/attachments/x", "/attachments/..%2Fx"] {
        assert_eq!(client.get(odd).status, 404, "{odd}");
    }
    let none = format!("/attachments/{}", "0".repeat(64));
    for path in [none.clone(), format!("{none}/small")] {
        assert_eq!(client.get(&path).status, 404);
    }
}

/// A JPEG of so many pixels a side, of slow colours and the grain of a camera.
fn photograph(side: u32) -> Vec<u8> {
    let mut state = 7_u32;
    let noise = image::RgbImage::from_fn(side, side, |x, y| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let [grain, ..] = (state / 4).to_be_bytes();
        let slow = |at: u32| (at * 180 / side) as u8 + grain;
        image::Rgb([slow(x), slow(y), grain])
    });
    let mut content = std::io::Cursor::new(Vec::new());
    noise.write_to(&mut content, image::ImageFormat::Jpeg).unwrap();
    content.into_inner()
}

#[test]
fn a_list_sends_photographs_small_and_their_originals_untouched() {
    let served = served();
    let mut client = served.person("HB");
    let camera = photograph(1200);
    let files: [(&str, &str, &[u8]); 1] = [("_file.photographs", "1.jpg", &camera)];
    let answer = send(&mut client, &RAISE, &files);
    assert_eq!(answer.status, 303, "{}", answer.body);
    let page = client.get("/show/findings/X-1").body;
    let small = page.split("<img src=\"").nth(1).unwrap().split('"').next().unwrap();
    let (status, headers, content) = client.bytes(small);
    assert_eq!((status, headers["content-type"].as_str()), (200, "image/jpeg"));
    assert_eq!(headers["cache-control"], "private, no-cache");
    assert_eq!(headers["content-security-policy"], PICTURE);
    assert!(headers["etag"].ends_with("-small\""));
    let (made, large) = (content.len(), camera.len());
    assert!(made < 60_000 && made * 10 < large, "{made} of {large} bytes");
    let seen = image::load_from_memory(&content).unwrap();
    assert_eq!((seen.width(), seen.height()), (400, 400));
    // The same once more comes from memory, and the original is what was taken.
    assert_eq!(client.bytes(small).2, content);
    let whole = small.strip_suffix("/small").unwrap();
    let (_, _, original) = client.bytes(whole);
    assert_eq!(image::load_from_memory(&original).unwrap().width(), 1200);
    // Whoever has not signed in gets neither.
    let (status, _, content) = served.stranger().bytes(small);
    assert_eq!((status, content.len()), (303, 0));
}

#[test]
fn what_cannot_be_made_small_is_a_link_by_its_words() {
    let served = served();
    let mut client = served.person("HB");
    // A picture that claims 65,500 pixels a side: nothing decodes it, the link is there.
    let mut camera = photograph(64);
    let frame = camera.windows(2).position(|pair| pair == [0xFF, 0xC0]).unwrap();
    camera[frame + 5..frame + 9].copy_from_slice(&[0xFF, 0xDC, 0xFF, 0xDC]);
    let files: [(&str, &str, &[u8]); 1] = [("_file.photographs", "1.jpg", &camera)];
    let answer = send(&mut client, &RAISE, &files);
    assert_eq!(answer.status, 303, "{}", answer.body);
    let page = client.get("/show/findings/X-1").body;
    assert!(page.contains("alt=\"finding X-1, photograph 1\""), "{page}");
    let small = page.split("<img src=\"").nth(1).unwrap().split('"').next().unwrap();
    assert_eq!(client.bytes(small).0, 404);
    let (status, _, whole) = client.bytes(small.strip_suffix("/small").unwrap());
    assert_eq!((status, whole), (200, camera));
}

#[test]
fn a_refused_form_comes_back_with_its_photographs() {
    let served = served();
    let mut client = served.person("HB");
    let number = served.desk.snapshot().number;
    let one = picture(1);
    let mut fields = RAISE.to_vec();
    fields[1] = ("item", "NO-SUCH");
    let answer = send(&mut client, &fields, &[("_file.photographs", "1.png", &one)]);
    assert_eq!(answer.status, 422);
    assert_eq!(html::faults(&answer.body), [""; 0]);
    assert_eq!(served.desk.snapshot().number, number, "nothing is entered");
    let kept = digests(&answer.body);
    assert_eq!(kept.len(), 1, "{}", answer.body);
    // The same once more, put right: nothing is chosen again, and one more comes beside it.
    fields[1] = RAISE[1];
    fields.push(("photographs", &kept[0]));
    let two = picture(2);
    let answer = send(&mut client, &fields, &[("_file.photographs", "2.png", &two)]);
    assert_eq!(answer.status, 303, "{}", answer.body);
    assert_eq!(client.get("/show/findings/X-1").body.matches("<img ").count(), 2);
    assert_eq!(attached(&served), 2);
}

#[test]
fn what_is_no_photograph_is_told_beside_the_field() {
    let served = served();
    let mut client = served.person("HB");
    let number = served.desk.snapshot().number;
    let (heic, page, good) = (b"\0\0\0\x18ftypheic", b"<html>x</html>", picture(3));
    let large = vec![0; 20_000_001];
    let files: [(&str, &str, &[u8]); 5] = [
        ("_file.photographs", "a.jpg", heic),
        ("_file.photographs", "b.png", page),
        ("_file.photographs", "notes.jpg", b"only words"),
        ("_file.photographs", "big.png", &large),
        ("_file.photographs", "good.png", &good),
    ];
    let answer = send(&mut client, &RAISE, &files);
    assert_eq!(answer.status, 422);
    assert_eq!(html::faults(&answer.body), [""; 0]);
    for told in [
        "a.jpg can&#39;t be attached: the file looks like a HEIC",
        "b.png can&#39;t be attached: the file looks like an HTML page",
        "notes.jpg is no photograph",
        "big.png is 21 MB, more than the 20 MB",
        "id=\"photographs-wrong\"",
        "value=\"X-1\"",
    ] {
        let body = answer.body.replace('\'', "&#39;");
        assert!(body.contains(told), "{told}\n{}", answer.body);
    }
    assert_eq!(digests(&answer.body).len(), 1, "the good one is kept");
    assert_eq!(served.desk.snapshot().number, number);
}

#[test]
fn too_many_are_told_by_name_and_the_first_are_kept() {
    let served = served();
    let mut client = served.person("HB");
    let pictures: Vec<Vec<u8>> = (0..14).map(picture).collect();
    let names: Vec<String> = (0..14).map(|at| format!("p{at}.png")).collect();
    let files: Vec<(&str, &str, &[u8])> = pictures
        .iter()
        .zip(&names)
        .map(|(picture, name)| ("_file.photographs", name.as_str(), picture.as_slice()))
        .collect();
    let answer = send(&mut client, &RAISE, &files);
    assert_eq!(answer.status, 422);
    assert_eq!(digests(&answer.body).len(), 12);
    for told in ["p12.png is one too many: 12 at once", "p13.png"] {
        assert!(answer.body.contains(told), "{told}\n{}", answer.body);
    }
}

#[test]
fn nothing_is_attached_for_strangers_or_without_the_token() {
    let served = served();
    let one = picture(1);
    let files: [(&str, &str, &[u8]); 1] = [("_file.photographs", "1.png", &one)];
    let answer = served.stranger().post_files("/act/raise", &RAISE, &files);
    assert_eq!(answer.status, 401);
    assert!(answer.body.contains("name=\"f.what\""), "what was typed is carried");
    let answer = served.person("HB").post_files("/act/raise", &RAISE, &files);
    assert_eq!(answer.status, 422);
    assert_eq!(attached(&served), 0);
}

#[test]
fn a_form_that_breaks_off_enters_nothing() {
    let served = served();
    let mut client = served.person("HB");
    client
        .headers
        .push(("content-type".into(), "multipart/form-data; boundary=x".into()));
    let answer = client.post("/act/raise", &[("finding", "X-1")]);
    assert_eq!(answer.status, 400, "{}", answer.body);
    assert!(answer.body.contains("did not arrive whole"));
}

#[test]
fn a_digest_that_nobody_attached_is_refused() {
    let served = served();
    let mut client = served.person("HB");
    let none = "0".repeat(64);
    let mut fields = RAISE.to_vec();
    fields.push(("photographs", &none));
    let answer = send(&mut client, &fields, &[]);
    assert_eq!(answer.status, 422);
    assert!(answer.body.contains("no file is attached under the digest 0000"));
}

#[test]
fn a_field_of_words_takes_a_file_in_their_place_and_overwrites_none() {
    let served = served();
    let mut client = served.person("HB");
    let form = client.get("/act/tag?item=PROP-P");
    let (one, mine) = (picture(1), secret("HB"));
    let mut fields = vec![
        ("item", "PROP-P"),
        ("location", "port engine"),
        ("service", "not known"),
        ("preservation", "bagged"),
        ("defects", "none known"),
        ("place", "ENGINE-BAY"),
        ("photograph", "in the red folder"),
    ];
    let filled = Client::filled(&form, &fields, &mine);
    let all: Vec<(&str, &str)> = filled.iter().map(|(n, v)| (*n, v.as_str())).collect();
    let files: [(&str, &str, &[u8]); 1] = [("_file.photograph", "1.png", &one)];
    let answer = client.post_files("/act/tag", &all, &files);
    assert_eq!(answer.status, 422);
    assert!(answer.body.contains("the field holds words too"), "{}", answer.body);
    assert!(answer.body.contains("in the red folder"));
    fields.pop();
    let filled = Client::filled(&form, &fields, &mine);
    let all: Vec<(&str, &str)> = filled.iter().map(|(n, v)| (*n, v.as_str())).collect();
    let answer = client.post_files("/act/tag", &all, &files);
    assert_eq!(answer.status, 303, "{}", answer.body);
    let page = client.get("/show/parts/PROP-P").body;
    assert_eq!(page.matches("<img ").count(), 1, "{page}");
    assert_eq!(attached(&served), 1);
}
