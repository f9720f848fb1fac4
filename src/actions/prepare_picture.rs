//! A picture that somebody sends, made into JPEGs of our own: looked at before it is decoded, turned upright, made smaller, and
//! written anew, so that nothing a camera wrote into it (place, time, device) is left. Color profiles are left out as well; browsers
//! then take the colors for sRGB.

use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits, RgbImage};
use sha2::{Digest, Sha256};
use std::io::Cursor;

/// The most bytes a picture may have as it is sent.
pub const MOST_BYTES: usize = 12 * 1024 * 1024;
/// The most pixels it may have: what large phone cameras take.
pub const MOST_PIXELS: u64 = 50_000_000;
/// The most pixels along one edge.
pub const LONGEST_EDGE: u32 = 12_000;
/// The fewest pixels along one edge.
pub const SHORTEST_EDGE: u32 = 64;
/// The most memory decoding may take, in bytes: 50 million pixels of three or four bytes.
const MOST_MEMORY: u64 = 220 * 1024 * 1024;
/// The boxes a picture is made to fit into, in pixels: a phone's column, and a wide page on a sharp screen.
const BOXES: [u32; 2] = [480, 1_280];
/// JPEG quality, of 100.
const QUALITY: u8 = 82;

/// A picture in one width.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sized {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// A JPEG.
    pub jpeg: Vec<u8>,
    /// The first 32 hexadecimal digits of its SHA-256: its address.
    pub digest: String,
}

/// A picture ready for the book, narrowest first; one or two widths.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Prepared(pub Vec<Sized>);

/// Makes a sent picture ready. Takes a second or two for the largest: not for an async worker.
///
/// # Errors
/// A sentence that says what to send instead.
pub fn prepare(bytes: &[u8]) -> Result<Prepared, String> {
    if bytes.is_empty() {
        return Err("Choose a picture: a JPEG or PNG file.".into());
    }
    if bytes.len() > MOST_BYTES {
        return Err(format!("The picture has more than {} MB. Send a smaller one.", MOST_BYTES / 1024 / 1024));
    }
    let mut reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|_| "The file broke off. Send it again.".to_string())?;
    if !matches!(reader.format(), Some(ImageFormat::Jpeg | ImageFormat::Png)) {
        return Err("The file is neither a JPEG nor a PNG picture. Save it as one of the two, and send that.".into());
    }
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MOST_MEMORY);
    reader.limits(limits);
    // Reads the head only. What it says is held against the limits before one pixel is decoded.
    let mut decoder = reader.into_decoder().map_err(broken)?;
    let (width, height) = decoder.dimensions();
    if width.max(height) > LONGEST_EDGE || u64::from(width).saturating_mul(height.into()) > MOST_PIXELS {
        return Err(format!(
            "The picture is {width} by {height} pixels, and at most {} million are taken, {LONGEST_EDGE} along an edge. Make it \
             smaller first.",
            MOST_PIXELS / 1_000_000
        ));
    }
    if width.min(height) < SHORTEST_EDGE {
        return Err(format!(
            "The picture is {width} by {height} pixels, which is too small to see anything. Send one of at least \
             {SHORTEST_EDGE} along each edge."
        ));
    }
    if decoder.total_bytes() > MOST_MEMORY {
        return Err("The picture takes too much memory to read. Save it as JPEG, and send that.".into());
    }
    let turned = decoder.orientation().map_err(broken)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(broken)?;
    let [_, widest] = BOXES;
    // Quick and frugal down to twice the size, carefully from there.
    if width.max(height) > widest.saturating_mul(2) {
        picture = picture.thumbnail(widest * 2, widest * 2);
    }
    picture.apply_orientation(turned);
    let picture = on_paper(&picture);
    let mut sizes: Vec<Sized> = Vec::new();
    for edge in BOXES {
        let one = sized(&picture, edge).map_err(broken)?;
        if sizes.last().is_none_or(|s| s.width < one.width) {
            sizes.push(one);
        }
    }
    Ok(Prepared(sizes))
}

fn broken(why: ImageError) -> String {
    match why {
        ImageError::Limits(_) => format!(
            "The picture has more pixels than can be read: at most {} million are taken. Make it smaller first.",
            MOST_PIXELS / 1_000_000
        ),
        _ => "The file cannot be read as a picture. Open it, save it again as JPEG, and send that.".into(),
    }
}

/// What shines through is made white: a JPEG has no transparency.
fn on_paper(picture: &DynamicImage) -> RgbImage {
    if !picture.color().has_alpha() {
        return picture.to_rgb8();
    }
    let all = picture.to_rgba8();
    let mut out = RgbImage::new(all.width(), all.height());
    for (to, from) in out.pixels_mut().zip(all.pixels()) {
        let [r, g, b, a] = from.0.map(u32::from);
        let over = |c: u32| u8::try_from((c * a + 255 * (255 - a) + 127) / 255).unwrap_or(u8::MAX);
        to.0 = [over(r), over(g), over(b)];
    }
    out
}

fn sized(picture: &RgbImage, edge: u32) -> Result<Sized, ImageError> {
    let fits = picture.width().max(picture.height()) <= edge;
    let small = if fits {
        picture.clone()
    } else {
        DynamicImage::ImageRgb8(picture.clone()).resize(edge, edge, FilterType::CatmullRom).to_rgb8()
    };
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY).encode_image(&small)?;
    let digest = Sha256::digest(&jpeg).iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    Ok(Sized { width: small.width(), height: small.height(), jpeg, digest })
}

#[cfg(test)]
#[path = "prepare_picture_tests.rs"]
mod tests;
