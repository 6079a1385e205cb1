//! The photos of the notes: read below the job's folder, made small for the page, never written.
//!
//! What goes into a page is a new picture made from the photo's pixels, turned as the camera said it was held. Nothing
//! else of the file goes with it: no place, time, owner's name or thumbnail. Which photo it was, the SHA-256 of the
//! file proves.

use std::{collections::BTreeMap, io::Cursor};

use fallwise::{Answers, answers::InputRow};
use image::{
    DynamicImage, ExtendedColorType, ImageDecoder, ImageFormat, ImageReader, Limits, codecs::jpeg::JpegEncoder,
};

use crate::{
    digest::sha256,
    error::{FileError, Place, shown},
    resolver::Resolver,
};

/// The largest photo that is looked at, bytes of its file. Our choice.
pub const LARGEST_FILE: u64 = 32 << 20;
/// The largest photo that is decoded, bytes of its pixels: 55 million of three bytes, which is more than most cameras give.
/// With what the decoders keep beside (of a progressive JPEG its coefficients, twice as much), one photo takes less than
/// 640 MiB at any moment, whatever its file claims (480 MiB measured); photos are read one after the other.
pub const LARGEST_DECODED: u64 = 160 << 20;
/// Photos made small at most; the others are known by their SHA-256, and not shown. Our choice: some 40 MB of page.
const MOST: usize = 200;
/// Quality of the JPEG in the page, of 100. Our choice.
const QUALITY: u8 = 82;

/// How photos are made small.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PhotoOptions {
    /// Most pixels of the longer side.
    pub longest_side_px: u32,
}

impl Default for PhotoOptions {
    fn default() -> Self {
        Self { longest_side_px: 1024 }
    }
}

/// A photo, ready for a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Photo {
    /// The name in the job.
    pub file: String,
    /// SHA-256 of the file, in hexadecimal.
    pub sha256: String,
    /// Size of the file, bytes.
    pub bytes: u64,
    /// The small picture, as JPEG without metadata.
    pub jpeg: Vec<u8>,
    /// Its width.
    pub width_px: u32,
    /// Its height.
    pub height_px: u32,
}

/// Reads the photos that the notes name, each once, and writes their SHA-256 and size to the notes of the answers and to
/// what went in. A photo that is missing, cannot be read or is no picture is a warning there that names it.
pub fn read_all(answers: &mut Answers, resolver: &dyn Resolver, options: PhotoOptions) -> Vec<Photo> {
    let mut known: BTreeMap<String, Option<(String, u64)>> = BTreeMap::new();
    let mut photos = Vec::new();
    for note in &mut answers.noted {
        let Some(name) = note.photo.clone() else { continue };
        if !known.contains_key(&name) {
            let mut warn = |problem: &FileError| {
                answers.warnings.push(format!("the photo of note {} is not shown: {problem}", note.number));
            };
            let identity = match resolver.read_at_most(&name, LARGEST_FILE) {
                Err(problem) => {
                    warn(&problem);
                    None
                }
                Ok(bytes) => {
                    let identity = (sha256(&bytes), bytes.len() as u64);
                    let room = if photos.len() < MOST {
                        small(&bytes, options)
                    } else {
                        Err(FileError::new(Place::File, format!("there are more than {MOST} photos")))
                    };
                    match room {
                        Ok((jpeg, width_px, height_px)) => photos.push(Photo {
                            file: name.clone(),
                            sha256: identity.0.clone(),
                            bytes: identity.1,
                            jpeg,
                            width_px,
                            height_px,
                        }),
                        Err(problem) => warn(&problem.in_file(shown(&name))),
                    }
                    answers.inputs.push(InputRow {
                        role: "photo".to_owned(),
                        name: name.clone(),
                        sha256: identity.0.clone(),
                        bytes: identity.1,
                    });
                    Some(identity)
                }
            };
            known.insert(name.clone(), identity);
        }
        if let Some(Some((sha256, bytes))) = known.get(&name) {
            note.photo_sha256 = Some(sha256.clone());
            note.photo_bytes = Some(*bytes);
        }
    }
    photos
}

/// The picture made small, as JPEG, with its width and height. Its format is that of its content, whatever its name.
fn small(bytes: &[u8], options: PhotoOptions) -> Result<(Vec<u8>, u32, u32), FileError> {
    const EXPECTED: &str = "a JPEG or PNG picture";
    let fault = |e: image::ImageError| {
        FileError::new(Place::File, format!("cannot be read as a picture: {e}")).expected(EXPECTED)
    };
    let Ok(format @ (ImageFormat::Jpeg | ImageFormat::Png)) = image::guess_format(bytes) else {
        return Err(FileError::new(Place::File, "its content is no JPEG or PNG picture").expected(EXPECTED));
    };
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut limits = Limits::default();
    limits.max_alloc = Some(LARGEST_DECODED);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(fault)?;
    // Asked before anything is decoded: the limits of a decoder are kept as well as it can.
    if decoder.total_bytes() > LARGEST_DECODED {
        let (width, height) = decoder.dimensions();
        return Err(FileError::new(Place::File, format!("the picture of {width} x {height} pixels is too large"))
            .expected(format!("at most {} MiB of pixels", LARGEST_DECODED >> 20)));
    }
    // Without a word on how the camera was held it was held upright.
    let orientation = decoder.orientation().unwrap_or(image::metadata::Orientation::NoTransforms);
    let mut picture = DynamicImage::from_decoder(decoder).map_err(fault)?;
    let side = options.longest_side_px.max(1);
    if picture.width().max(picture.height()) > side {
        picture = picture.thumbnail(side, side);
    }
    picture.apply_orientation(orientation);
    let (width, height) = (picture.width(), picture.height());
    let pixels = on_white(&picture);
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY)
        .encode(&pixels, width, height, ExtendedColorType::Rgb8)
        .map_err(fault)?;
    Ok((jpeg, width, height))
}

/// Red, green and blue of each pixel, what is transparent laid on white.
fn on_white(picture: &DynamicImage) -> Vec<u8> {
    if !picture.color().has_alpha() {
        return picture.to_rgb8().into_raw();
    }
    let laid = |part: u8, alpha: u8| {
        let (part, alpha) = (u16::from(part), u16::from(alpha));
        u8::try_from((part * alpha + 255 * (255 - alpha) + 127) / 255).unwrap_or(255)
    };
    picture.to_rgba8().pixels().flat_map(|p| [0, 1, 2].map(|i| laid(p.0[i], p.0[3]))).collect()
}
