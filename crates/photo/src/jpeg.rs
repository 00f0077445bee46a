//! JPEG: the file's layout, whether it is complete, and its pixels.
//!
//! The decoder used fills what is missing with grey and says nothing. So the layout is read first: a file without
//! its end marker is cut short. Then the decoder gets the picture's own segments only, without that end marker, in
//! its strict mode: a scan that ends too early then runs out of bytes, which it does report.

use crate::{Error, Format, luma};
use std::ops::Range;
use zune_jpeg::JpegDecoder;
use zune_jpeg::errors::DecodeErrors;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

// Second bytes of the markers that matter (ITU-T T.81, table B.1).
const SOI: u8 = 0xD8;
const EOI: u8 = 0xD9;
const SOS: u8 = 0xDA;
const DQT: u8 = 0xDB;
const DNL: u8 = 0xDC;
const DRI: u8 = 0xDD;
const DHT: u8 = 0xC4;
const DAC: u8 = 0xCC;
const JPG: u8 = 0xC8;
const TEM: u8 = 0x01;
const APP0: u8 = 0xE0;
const APP1: u8 = 0xE1;
const APP14: u8 = 0xEE;

/// Where the parts of a JPEG file lie.
#[derive(Clone, Debug, Default)]
pub(crate) struct Layout {
    frame: Option<Frame>,
    /// Segments that the decoder needs, in order.
    parts: Vec<Range<usize>>,
    exif: Option<Range<usize>>,
    /// Lowest bit position that the scans have sent so far, for each component and coefficient.
    sent: Vec<[Option<u8>; 64]>,
    complete: bool,
}

/// What the frame header says.
#[derive(Clone, Debug, Default)]
struct Frame {
    width: u32,
    height: u32,
    progressive: bool,
    component_ids: Vec<u8>,
}

impl Layout {
    /// Reads the layout up to the end marker, or as far as the bytes go.
    pub(crate) fn read(bytes: &[u8]) -> Result<Self, Error> {
        let mut layout = Self::default();
        let mut at = 2;
        while let Some((marker, body)) = next_marker(bytes, at) {
            match marker {
                EOI => {
                    layout.complete = true;
                    break;
                }
                SOI | TEM | 0xD0..=0xD7 => at = body,
                _ => match segment_end(bytes, body) {
                    Some(end) => at = layout.segment(bytes, marker, body, end)?,
                    None => break,
                },
            }
        }
        if layout.frame.is_none() {
            return Err(if layout.complete {
                Error::damaged(Format::Jpeg, "it has no frame header")
            } else {
                Error::Truncated {
                    format: Format::Jpeg,
                    bytes: bytes.len(),
                }
            });
        }
        Ok(layout)
    }

    /// Takes in one segment whose body lies at `body..end`; gives where to read on.
    fn segment(&mut self, bytes: &[u8], marker: u8, body: usize, end: usize) -> Result<usize, Error> {
        let content = &bytes[body + 2..end];
        let from = body - 2;
        let mut next = end;
        match marker {
            SOS => {
                next = scan_end(bytes, end);
                self.note_scan(content);
                self.parts.push(from..next);
            }
            DQT | DRI | DHT | APP0 | APP14 => self.parts.push(from..end),
            APP1 if self.exif.is_none() && content.starts_with(b"Exif\0") => {
                self.exif = Some((body + 8).min(end)..end);
            }
            DAC => return Err(unsupported("arithmetic coding")),
            DNL => return Err(unsupported("a height given after the picture")),
            0xC0..=0xCF if marker != JPG => {
                self.note_frame(marker, content)?;
                self.parts.push(from..end);
            }
            _ => {}
        }
        Ok(next)
    }

    fn note_frame(&mut self, marker: u8, content: &[u8]) -> Result<(), Error> {
        match marker {
            0xC0..=0xC2 => {}
            0xC3 => return Err(unsupported("lossless coding")),
            0xC9..=0xCF => return Err(unsupported("arithmetic coding")),
            _ => return Err(unsupported("hierarchical coding")),
        }
        let (&[precision, h1, h0, w1, w0, count, ..], false) = (content, self.frame.is_some()) else {
            return Err(Error::damaged(Format::Jpeg, "its frame header makes no sense"));
        };
        if precision != 8 {
            return Err(unsupported(&format!("{precision} bits a sample")));
        }
        let component_ids: Vec<u8> = content[6..]
            .iter()
            .step_by(3)
            .take(count.into())
            .copied()
            .collect();
        self.sent = vec![[None; 64]; component_ids.len()];
        self.frame = Some(Frame {
            width: u16::from_be_bytes([w1, w0]).into(),
            height: u16::from_be_bytes([h1, h0]).into(),
            progressive: marker == 0xC2,
            component_ids,
        });
        Ok(())
    }

    /// Notes which coefficients of which components a scan sends (T.81, B.2.3).
    fn note_scan(&mut self, header: &[u8]) {
        let (Some(frame), Some((&count, rest))) = (&self.frame, header.split_first()) else {
            return;
        };
        let Some((components, selection)) = rest.split_at_checked(usize::from(count) * 2) else {
            return;
        };
        let (range, low_bit) = match (frame.progressive, selection) {
            (true, &[first, last, bits, ..]) => (first.min(63)..=last.min(63), bits & 15),
            _ => (0..=63, 0),
        };
        for id in components.iter().step_by(2) {
            let Some(index) = frame.component_ids.iter().position(|known| known == id) else {
                continue;
            };
            for coefficient in range.clone() {
                self.sent[index][usize::from(coefficient)] = Some(low_bit);
            }
        }
    }

    /// Stored width and height, px.
    pub(crate) fn size(&self) -> (u32, u32) {
        self.frame
            .as_ref()
            .map_or((0, 0), |frame| (frame.width, frame.height))
    }

    /// The TIFF structure of the Exif segment.
    pub(crate) fn exif<'a>(&self, bytes: &'a [u8]) -> Option<&'a [u8]> {
        bytes.get(self.exif.clone()?)
    }

    /// Fails unless the end marker is there and the scans sent at least every component's mean values and, in a
    /// progressive file, all bits of all coefficients that they began.
    pub(crate) fn check_complete(&self, bytes: usize) -> Result<(), Error> {
        let all_sent = !self.sent.is_empty()
            && self.sent.iter().all(|coefficients| {
                coefficients[0] == Some(0) && coefficients.iter().all(|bit| bit.is_none_or(|bit| bit == 0))
            });
        if self.complete && all_sent {
            Ok(())
        } else {
            Err(Error::Truncated {
                format: Format::Jpeg,
                bytes,
            })
        }
    }

    /// The segments that make the picture, in order, each with its marker.
    pub(crate) fn parts<'a>(&self, bytes: &'a [u8]) -> impl Iterator<Item = &'a [u8]> {
        self.parts.iter().filter_map(|part| bytes.get(part.clone()))
    }

    /// What the decoder gets to see.
    fn for_decoder(&self, bytes: &[u8]) -> Vec<u8> {
        let mut lean = Vec::with_capacity(self.parts.iter().map(Range::len).sum::<usize>() + 4);
        lean.extend([0xFF, SOI]);
        for part in &self.parts {
            // Fill bytes may precede a marker; a part begins with the marker's own two bytes.
            lean.push(0xFF);
            lean.extend(&bytes[part.start + 1..part.end]);
        }
        if self.frame.as_ref().is_some_and(|frame| frame.progressive) {
            // A progressive scan must be followed by a marker.
            lean.extend([0xFF, EOI]);
        }
        lean
    }
}

/// Grey bytes with width and height.
pub(crate) fn decode_grey(bytes: &[u8], layout: &Layout) -> Result<(usize, usize, Vec<u8>), Error> {
    let lean = layout.for_decoder(bytes);
    // The luma channel is there as it is: chroma need not be decoded.
    let luma_alone = run(&lean, bytes.len(), |stored| match stored {
        ColorSpace::YCbCr | ColorSpace::Luma => ColorSpace::Luma,
        _ => ColorSpace::RGB,
    });
    let (space, size, data) = match luma_alone {
        // With some chroma samplings (1 x 2) the decoder asks for rows past the end in this mode, and only in this.
        Err(_) => run(&lean, bytes.len(), |_| ColorSpace::RGB)?,
        decoded => decoded?,
    };
    let grey = if space == ColorSpace::Luma {
        data
    } else {
        luma::from_rgb(&data)
    };
    Ok((size.0, size.1, grey))
}

/// RGB bytes with width and height.
pub(crate) fn decode_rgb(bytes: &[u8], layout: &Layout) -> Result<(usize, usize, Vec<u8>), Error> {
    let lean = layout.for_decoder(bytes);
    let (_, size, data) = run(&lean, bytes.len(), |_| ColorSpace::RGB)?;
    Ok((size.0, size.1, data))
}

type Decoded = (ColorSpace, (usize, usize), Vec<u8>);

fn run(lean: &[u8], bytes: usize, wanted: impl Fn(ColorSpace) -> ColorSpace) -> Result<Decoded, Error> {
    let explain = |error: DecodeErrors| match error {
        DecodeErrors::ExhaustedData | DecodeErrors::FormatStatic("Premature end of buffer") => {
            Error::Truncated {
                format: Format::Jpeg,
                bytes,
            }
        }
        DecodeErrors::IoErrors(_) => Error::Truncated {
            format: Format::Jpeg,
            bytes,
        },
        error => Error::damaged(Format::Jpeg, format!("{error:?}").replace('"', "")),
    };
    let options = DecoderOptions::default()
        .set_strict_mode(true)
        .set_max_width(usize::from(u16::MAX))
        .set_max_height(usize::from(u16::MAX));
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(lean), options);
    decoder.decode_headers().map_err(explain)?;
    let missing = || Error::damaged(Format::Jpeg, "it has no frame header");
    let space = wanted(decoder.input_colorspace().ok_or_else(missing)?);
    decoder.set_options(options.jpeg_set_out_colorspace(space));
    let data = decoder.decode().map_err(explain)?;
    let size = decoder.dimensions().ok_or_else(missing)?;
    Ok((space, size, data))
}

fn unsupported(what: &str) -> Error {
    Error::Unsupported {
        format: Format::Jpeg,
        what: what.to_owned(),
    }
}

/// The next marker at or after `at` and where its body begins; stray bytes before it are passed over.
fn next_marker(bytes: &[u8], mut at: usize) -> Option<(u8, usize)> {
    loop {
        at += bytes.get(at..)?.iter().position(|&b| b == 0xFF)?;
        while *bytes.get(at)? == 0xFF {
            at += 1;
        }
        match bytes[at] {
            0 => at += 1,
            marker => return Some((marker, at + 1)),
        }
    }
}

/// Where the segment whose length field stands at `body` ends; `None` when that is past the end of the file.
fn segment_end(bytes: &[u8], body: usize) -> Option<usize> {
    let length = usize::from(u16::from_be_bytes([*bytes.get(body)?, *bytes.get(body + 1)?]));
    let end = body + length.max(2);
    (end <= bytes.len()).then_some(end)
}

/// Where the entropy-coded data that begins at `at` ends: at the next marker that is no restart marker.
fn scan_end(bytes: &[u8], mut at: usize) -> usize {
    while let Some(step) = bytes
        .get(at..)
        .and_then(|rest| rest.iter().position(|&b| b == 0xFF))
    {
        at += step;
        match bytes.get(at + 1) {
            None => return bytes.len(),
            Some(0 | 0xD0..=0xD7) => at += 2,
            Some(0xFF) => at += 1,
            Some(_) => return at,
        }
    }
    bytes.len()
}
