//! Pictures as people and others send them: with a place in them, lying on their side, too large, broken, made to do harm.

use super::*;
use image::{ExtendedColorType, ImageEncoder, Rgb, Rgba, RgbaImage};

fn jpeg(width: u32, height: u32) -> Vec<u8> {
    let picture = RgbImage::from_fn(width, height, |x, y| Rgb([(x % 256) as u8, (y % 256) as u8, 90]));
    let mut out = Vec::new();
    JpegEncoder::new_with_quality(&mut out, 90).encode_image(&picture).unwrap();
    out
}

fn png(picture: &[u8], width: u32, height: u32, color: ExtendedColorType) -> Vec<u8> {
    let mut out = Vec::new();
    image::codecs::png::PngEncoder::new(&mut out).write_image(picture, width, height, color).unwrap();
    out
}

/// An APP1 segment as phones write it: orientation, the maker, and 44.5 degrees north.
fn exif(orientation: u16) -> Vec<u8> {
    let mut tiff: Vec<u8> = b"MM\0\x2a\0\0\0\x08".to_vec();
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        [tag.to_be_bytes().to_vec(), kind.to_be_bytes().to_vec(), count.to_be_bytes().to_vec(), value.to_vec()].concat()
    };
    tiff.extend(3_u16.to_be_bytes());
    let [high, low] = orientation.to_be_bytes();
    tiff.extend(entry(0x0112, 3, 1, [high, low, 0, 0]));
    tiff.extend(entry(0x010f, 2, 13, 50_u32.to_be_bytes()));
    tiff.extend(entry(0x8825, 4, 1, 63_u32.to_be_bytes()));
    tiff.extend(0_u32.to_be_bytes());
    assert_eq!(tiff.len(), 50);
    tiff.extend(b"PhoneMaker 9\0");
    // The GPS directory: north, and three rationals.
    tiff.extend(2_u16.to_be_bytes());
    tiff.extend(entry(1, 2, 2, *b"N\0\0\0"));
    tiff.extend(entry(2, 5, 3, 93_u32.to_be_bytes()));
    tiff.extend(0_u32.to_be_bytes());
    for n in [44_u32, 1, 30, 1, 0, 1] {
        tiff.extend(n.to_be_bytes());
    }
    let body = [b"Exif\0\0".to_vec(), tiff].concat();
    let length = u16::try_from(body.len() + 2).unwrap();
    [vec![0xff, 0xe1], length.to_be_bytes().to_vec(), body].concat()
}

fn with_segment(jpeg: &[u8], segment: &[u8]) -> Vec<u8> {
    [&jpeg[..2], segment, &jpeg[2..]].concat()
}

/// The markers of a JPEG up to its picture data.
fn markers(jpeg: &[u8]) -> Vec<u8> {
    let (mut at, mut found) = (2, Vec::new());
    while jpeg[at] == 0xff && jpeg[at + 1] != 0xda {
        found.push(jpeg[at + 1]);
        at += 2 + usize::from(u16::from_be_bytes([jpeg[at + 2], jpeg[at + 3]]));
    }
    found
}

fn holds(bytes: &[u8], words: &[u8]) -> bool {
    bytes.windows(words.len()).any(|w| w == words)
}

#[test]
fn nothing_a_camera_wrote_is_left() {
    let xmp = b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta>Elm Fork</x:xmpmeta>";
    let mut app1 = vec![0xff, 0xe1];
    app1.extend(u16::try_from(xmp.len() + 2).unwrap().to_be_bytes());
    app1.extend(xmp);
    let comment = [vec![0xff, 0xfe, 0, 11], b"Slough Rd".to_vec()].concat();
    let sent = with_segment(&with_segment(&with_segment(&jpeg(1_600, 900), &comment), &app1), &exif(1));
    for word in [&b"Exif"[..], b"PhoneMaker", b"Elm Fork", b"Slough Rd"] {
        assert!(holds(&sent, word), "the picture sent has it");
    }
    let Prepared(sizes) = prepare(&sent).unwrap();
    assert_eq!(sizes.iter().map(|s| (s.width, s.height)).collect::<Vec<_>>(), [(480, 270), (1_280, 720)]);
    for one in &sizes {
        for word in [&b"Exif"[..], b"PhoneMaker", b"Elm Fork", b"Slough Rd", b"GPS", b"xmp"] {
            assert!(!holds(&one.jpeg, word), "{} is left", String::from_utf8_lossy(word));
        }
        // APP0 says only that it is a JPEG; no other application segment (E1 to EF) and no comment (FE).
        let markers = markers(&one.jpeg);
        assert!(markers.iter().all(|m| !(0xe1..=0xef).contains(m) && *m != 0xfe), "{markers:x?}");
        let again = image::load_from_memory(&one.jpeg).unwrap();
        assert_eq!((again.width(), again.height()), (one.width, one.height));
        assert_eq!(one.digest.len(), 32);
    }
}

#[test]
fn a_picture_that_lies_on_its_side_is_set_upright() {
    let Prepared(sizes) = prepare(&with_segment(&jpeg(800, 400), &exif(6))).unwrap();
    assert_eq!(sizes.iter().map(|s| (s.width, s.height)).collect::<Vec<_>>(), [(240, 480), (400, 800)]);
}

#[test]
fn a_small_picture_is_not_blown_up_and_what_shines_through_is_white() {
    let glass = RgbaImage::from_pixel(100, 80, Rgba([200, 0, 0, 0]));
    let Prepared(sizes) = prepare(&png(&glass, 100, 80, ExtendedColorType::Rgba8)).unwrap();
    assert_eq!(sizes.len(), 1, "one width is enough");
    assert_eq!((sizes[0].width, sizes[0].height), (100, 80));
    let white = image::load_from_memory(&sizes[0].jpeg).unwrap().to_rgb8();
    assert!(white.pixels().all(|p| p.0.iter().all(|c| *c > 250)));
}

/// A PNG whose head says it is huge; a few bytes of nothing behind it.
fn says(width: u32, height: u32) -> Vec<u8> {
    let chunk = |kind: &[u8], body: &[u8]| {
        let named = [kind, body].concat();
        let mut crc = flate2::Crc::new();
        crc.update(&named);
        [u32::try_from(body.len()).unwrap().to_be_bytes().to_vec(), named, crc.sum().to_be_bytes().to_vec()].concat()
    };
    let head = [width.to_be_bytes().to_vec(), height.to_be_bytes().to_vec(), vec![8, 2, 0, 0, 0]].concat();
    [b"\x89PNG\r\n\x1a\n".to_vec(), chunk(b"IHDR", &head), chunk(b"IDAT", &[0x78, 0x9c]), chunk(b"IEND", b"")].concat()
}

#[test]
fn a_picture_that_would_take_too_much_is_refused_by_its_head() {
    for (width, height) in [(60_000, 60_000), (2_000_000_000, 1), (12_001, 64), (9_000, 9_000)] {
        let why = prepare(&says(width, height)).unwrap_err();
        assert!(why.contains("pixels") && why.contains("50 million"), "{width} by {height}: {why}");
    }
    let why = prepare(&says(30, 3_000)).unwrap_err();
    assert!(why.contains("too small"), "{why}");
    // The same head with a size that is taken: then the data is looked at, and there is none.
    assert!(prepare(&says(300, 300)).unwrap_err().contains("cannot be read"));
}

#[test]
fn what_is_no_picture_is_refused_with_a_sentence() {
    for (bytes, words) in [
        (Vec::new(), "Choose a picture"),
        (b"GIF89a\x01\0\x01\0\0\0\0;".to_vec(), "neither a JPEG nor a PNG"),
        (b"<svg xmlns=\"http://www.w3.org/2000/svg\"/>".to_vec(), "neither a JPEG nor a PNG"),
        (b"%PDF-1.7".to_vec(), "neither a JPEG nor a PNG"),
        (vec![0xff, 0xd8, 0xff], "cannot be read"),
        (jpeg(200, 200)[..300].to_vec(), "cannot be read"),
        (vec![0; MOST_BYTES + 1], "more than 12 MB"),
    ] {
        let why = prepare(&bytes).unwrap_err();
        assert!(why.contains(words), "{why}");
    }
}
