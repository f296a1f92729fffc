//! What a sent picture is made into: pixels only, upright, at two sizes.
//!
//! Belongs here: telling what it is by its content, the limits, decoding, encoding. Does not
//! belong here: keeping it. Nothing of the file that was sent survives but its pixels: no
//! place, no time, no camera, no thumbnail, nothing hidden behind the end.

use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{
    DynamicImage, ExtendedColorType, ImageDecoder as _, ImageError, ImageFormat, ImageReader,
    Limits, Rgb, RgbImage,
};

/// Bytes of a picture as sent; a larger one is refused before it is decoded. The page makes
/// pictures smaller before it sends them.
pub const PHOTO_BYTES_MAX: usize = 6 * 1024 * 1024;

/// Pixels of a picture as sent; one that says it has more is refused before it is decoded.
pub const PIXELS_MAX: u64 = 40_000_000;

/// Pixels on one side of a picture as sent; more is refused.
pub const SENT_SIDE_PX_MAX: u32 = 12_000;

/// Memory that decoding one picture may take; a picture that needs more is refused.
pub const DECODED_BYTES_MAX: u64 = 256 * 1024 * 1024;

/// Longer side of what is kept; a larger picture is made smaller.
pub const SIDE_PX_MAX: u32 = 1_600;

/// Longer side of the preview.
pub const PREVIEW_SIDE_PX: u32 = 320;

/// JPEG quality of what is kept, of 100: the figures on a nameplate stay sharp.
const QUALITY: u8 = 84;

/// JPEG quality of the preview.
const PREVIEW_QUALITY: u8 = 72;

/// The two sizes of a picture.
#[derive(Debug)]
pub struct Made {
    /// JPEG, at most [`SIDE_PX_MAX`] on its longer side.
    pub whole: Vec<u8>,
    /// JPEG, at most [`PREVIEW_SIDE_PX`] on its longer side.
    pub preview: Vec<u8>,
    /// Pixels across of the whole.
    pub width_px: i32,
    /// Pixels down of the whole.
    pub height_px: i32,
}

/// Why a picture is not taken. The words are for whoever sent it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// More bytes than [`PHOTO_BYTES_MAX`].
    #[error("This file has {} MiB; at most {} are taken. Send a smaller picture.",
        .bytes / (1024 * 1024), PHOTO_BYTES_MAX / (1024 * 1024))]
    TooManyBytes {
        /// How many.
        bytes: usize,
    },
    /// Not one of the three kinds, by its content.
    #[error(
        "This is not a JPEG, PNG or WebP picture by its content, whatever its name says. \
             Take a photo, or save it as one of these."
    )]
    NoPicture,
    /// More pixels than are decoded.
    #[error("This picture says it has {width} by {height} pixels; at most {} million in all and \
             {SENT_SIDE_PX_MAX} on a side are taken. Send a smaller one.", PIXELS_MAX / 1_000_000)]
    TooManyPixels {
        /// Across.
        width: u32,
        /// Down.
        height: u32,
    },
    /// It ends too early or is damaged inside.
    #[error("This picture is damaged or ends too early. Take it again, or send it again.")]
    Damaged,
}

/// Makes both sizes of a picture.
///
/// # Errors
/// [`Refusal`], in words for the sender.
pub fn make(bytes: &[u8]) -> Result<Made, Refusal> {
    if bytes.len() > PHOTO_BYTES_MAX {
        return Err(Refusal::TooManyBytes { bytes: bytes.len() });
    }
    let format = match image::guess_format(bytes) {
        Ok(format @ (ImageFormat::Jpeg | ImageFormat::Png | ImageFormat::WebP)) => format,
        _ => return Err(Refusal::NoPicture),
    };
    // The JPEG decoder fills what is missing with grey, and says nothing.
    if format == ImageFormat::Jpeg && !jpeg_ends(bytes) {
        return Err(Refusal::Damaged);
    }
    let mut limits = Limits::default();
    limits.max_image_width = Some(SENT_SIDE_PX_MAX);
    limits.max_image_height = Some(SENT_SIDE_PX_MAX);
    limits.max_alloc = Some(DECODED_BYTES_MAX);
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    reader.no_limits();
    let mut decoder = reader.into_decoder().map_err(|_| Refusal::Damaged)?;
    let (width, height) = decoder.dimensions();
    let too_many = Refusal::TooManyPixels { width, height };
    if u64::from(width) * u64::from(height) > PIXELS_MAX
        || width.max(height) > SENT_SIDE_PX_MAX
        || decoder.total_bytes() > DECODED_BYTES_MAX
    {
        return Err(too_many);
    }
    let failed = |error: ImageError| match error {
        ImageError::Limits(_) => too_many.clone(),
        _ => Refusal::Damaged,
    };
    decoder.set_limits(limits).map_err(failed)?;
    // A picture whose orientation cannot be read is taken as it lies.
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let mut picture = DynamicImage::from_decoder(decoder).map_err(failed)?;
    picture.apply_orientation(orientation);

    let whole = on_white(&fitted(&picture, SIDE_PX_MAX));
    let preview = on_white(&fitted(&picture, PREVIEW_SIDE_PX));
    let side = |px: u32| i32::try_from(px).unwrap_or(i32::MAX);
    let (width_px, height_px) = (side(whole.width()), side(whole.height()));
    let (whole, preview) = (jpeg(&whole, QUALITY)?, jpeg(&preview, PREVIEW_QUALITY)?);
    Ok(Made { whole, preview, width_px, height_px })
}

/// Whether an end of image comes after the last start of scan.
fn jpeg_ends(bytes: &[u8]) -> bool {
    let last = |marker: [u8; 2]| bytes.windows(2).rposition(|pair| pair == marker);
    match (last([0xFF, 0xDA]), last([0xFF, 0xD9])) {
        (Some(scan), Some(end)) => end > scan,
        _ => false,
    }
}

fn fitted(picture: &DynamicImage, side_px: u32) -> DynamicImage {
    if picture.width().max(picture.height()) <= side_px {
        return picture.clone();
    }
    picture.thumbnail(side_px, side_px)
}

/// JPEG knows no transparency: what could be seen through is white.
fn on_white(picture: &DynamicImage) -> RgbImage {
    if !picture.color().has_alpha() {
        return picture.to_rgb8();
    }
    let picture = picture.to_rgba8();
    RgbImage::from_fn(picture.width(), picture.height(), |x, y| {
        let [red, green, blue, alpha] = picture.get_pixel(x, y).0;
        let over = |channel: u8| {
            let (channel, alpha) = (u16::from(channel), u16::from(alpha));
            u8::try_from((channel * alpha + 255 * (255 - alpha)) / 255).unwrap_or(u8::MAX)
        };
        Rgb([over(red), over(green), over(blue)])
    })
}

fn jpeg(picture: &RgbImage, quality: u8) -> Result<Vec<u8>, Refusal> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, quality)
        .encode(picture, picture.width(), picture.height(), ExtendedColorType::Rgb8)
        .map_err(|_| Refusal::Damaged)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A picture whose left half is red and whose right half is blue.
    fn halves(width: u32, height: u32, format: ImageFormat) -> Vec<u8> {
        let picture = RgbImage::from_fn(width, height, |x, _| {
            if x < width / 2 { Rgb([220, 20, 20]) } else { Rgb([20, 20, 220]) }
        });
        let mut bytes = Cursor::new(Vec::new());
        DynamicImage::ImageRgb8(picture).write_to(&mut bytes, format).unwrap();
        bytes.into_inner()
    }

    /// EXIF with an orientation and a place, as a phone writes it, put behind the first marker.
    fn with_exif(jpeg: &[u8], orientation: u8) -> Vec<u8> {
        let mut tiff = b"II*\0\x08\0\0\0\x02\0".to_vec();
        tiff.extend([0x12, 0x01, 3, 0, 1, 0, 0, 0, orientation, 0, 0, 0]);
        tiff.extend([0x25, 0x88, 4, 0, 1, 0, 0, 0, 38, 0, 0, 0]);
        tiff.extend([0; 4]);
        // The GPS directory: latitude reference "N" and a name that is easy to find.
        tiff.extend([1, 0, 1, 0, 2, 0, 2, 0, 0, 0, b'N', 0, 0, 0, 0, 0, 0, 0]);
        tiff.extend(b"GPS-HERE-45.1234");
        let mut segment = b"Exif\0\0".to_vec();
        segment.extend(tiff);
        let mut bytes = jpeg[..2].to_vec();
        bytes.extend([0xFF, 0xE1]);
        bytes.extend(u16::try_from(segment.len() + 2).unwrap().to_be_bytes());
        bytes.extend(segment);
        bytes.extend(&jpeg[2..]);
        bytes
    }

    fn holds(bytes: &[u8], needle: &[u8]) -> bool {
        bytes.windows(needle.len()).any(|window| window == needle)
    }

    #[test]
    fn each_kind_is_kept_as_a_jpeg_of_its_pixels_at_two_sizes() {
        for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP] {
            let made = make(&halves(2000, 1000, format)).unwrap();

            assert_eq!((made.width_px, made.height_px), (1600, 800), "{format:?}");
            let whole = image::load_from_memory(&made.whole).unwrap().to_rgb8();
            let [red, _, blue] = whole.get_pixel(200, 400).0;
            assert!(red > 180 && blue < 80, "{format:?}: the left half is red");
            let preview = image::load_from_memory(&made.preview).unwrap();
            assert_eq!((preview.width(), preview.height()), (320, 160));
            assert_eq!(image::guess_format(&made.whole).unwrap(), ImageFormat::Jpeg);
        }
    }

    #[test]
    fn place_and_camera_are_gone_and_the_picture_stands_upright() {
        let sent = with_exif(&halves(400, 200, ImageFormat::Jpeg), 6);
        assert!(holds(&sent, b"GPS-HERE"));

        let made = make(&sent).unwrap();

        assert_eq!((made.width_px, made.height_px), (200, 400), "turned by a quarter");
        for bytes in [&made.whole, &made.preview] {
            assert!(!holds(bytes, b"GPS-HERE") && !holds(bytes, b"Exif"));
        }
        let whole = image::load_from_memory(&made.whole).unwrap().to_rgb8();
        let [red, _, blue] = whole.get_pixel(100, 50).0;
        assert!(red > 180 && blue < 80, "what was left is at the top now");
    }

    #[test]
    fn what_hides_behind_the_end_does_not_survive() {
        let mut sent = halves(40, 40, ImageFormat::Png);
        sent.extend(b"<script>alert(1)</script>PK\x03\x04");

        let made = make(&sent).unwrap();

        assert!(!holds(&made.whole, b"script") && !holds(&made.whole, b"PK\x03\x04"));
    }

    #[test]
    fn what_can_be_seen_through_is_white() {
        let mut bytes = Cursor::new(Vec::new());
        let clear = image::RgbaImage::from_pixel(20, 20, image::Rgba([0, 0, 0, 0]));
        DynamicImage::ImageRgba8(clear).write_to(&mut bytes, ImageFormat::Png).unwrap();

        let made = make(&bytes.into_inner()).unwrap();

        let whole = image::load_from_memory(&made.whole).unwrap().to_rgb8();
        assert!(whole.get_pixel(10, 10).0.iter().all(|channel| *channel > 250));
    }

    #[test]
    fn everything_else_is_refused_and_says_why() {
        let check = |bytes: &[u8], refusal: Refusal| {
            assert_eq!(make(bytes).unwrap_err(), refusal);
        };
        let whole = halves(400, 200, ImageFormat::Jpeg);

        check(&whole[..whole.len() / 2], Refusal::Damaged);
        let png = halves(400, 200, ImageFormat::Png);
        check(&png[..png.len() / 2], Refusal::Damaged);
        let webp = halves(400, 200, ImageFormat::WebP);
        check(&webp[..webp.len() / 2], Refusal::Damaged);
        check(b"<svg xmlns=\"http://www.w3.org/2000/svg\"/>", Refusal::NoPicture);
        check(b"GIF89a\x01\0\x01\0", Refusal::NoPicture);
        check(b"%PDF-1.7", Refusal::NoPicture);
        check(b"", Refusal::NoPicture);
        check(&vec![0; PHOTO_BYTES_MAX + 1], Refusal::TooManyBytes { bytes: PHOTO_BYTES_MAX + 1 });
    }

    /// A few hundred bytes that say they are 30,000 pixels square: never decoded.
    #[test]
    fn a_decompression_bomb_is_refused_by_what_it_says_it_is() {
        let mut png = halves(10, 10, ImageFormat::Png);
        png[16..20].copy_from_slice(&30_000u32.to_be_bytes());
        png[20..24].copy_from_slice(&30_000u32.to_be_bytes());
        let sum = crc32(&png[12..29]);
        png[29..33].copy_from_slice(&sum.to_be_bytes());

        let refusal = make(&png).unwrap_err();

        assert_eq!(refusal, Refusal::TooManyPixels { width: 30_000, height: 30_000 });
    }

    fn crc32(bytes: &[u8]) -> u32 {
        !bytes.iter().fold(!0u32, |sum, byte| {
            (0..8).fold(sum ^ u32::from(*byte), |sum, _| {
                if sum & 1 == 1 { (sum >> 1) ^ 0xEDB8_8320 } else { sum >> 1 }
            })
        })
    }
}
