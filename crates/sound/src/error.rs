//! Why a recording cannot be used.

/// Why a recording cannot be used. All of these are bad input; each message says how to mend it.
#[derive(Clone, Debug, PartialEq, thiserror::Error, shimwright_say::Halves)]
#[non_exhaustive]
pub enum Error {
    /// No bytes at all.
    #[error("the file is empty (0 bytes); record the pluck again")]
    Empty,
    /// More bytes than a recording may have.
    #[error("the file has {} MB and the limit is {} MB; cut it to the plucks", bytes.div_ceil(1_000_000), limit / 1_000_000)]
    TooManyBytes {
        /// Bytes in the file.
        bytes: usize,
        /// Most bytes allowed.
        limit: usize,
    },
    /// A known kind of file that is not read.
    #[error("this is {name}, which cannot be read here; save the recording as WAV, or record it in the app")]
    OtherFormat {
        /// What it is, with an article.
        name: &'static str,
    },
    /// Not a WAV file.
    #[error("this is not a WAV file; save the recording as WAV, or record it in the app")]
    NotAWav,
    /// The file ends before the length that its head states.
    #[error(
        "the WAV file is cut short: it ends after {bytes} bytes, before its sound is complete; copy it again, or \
         record the pluck again"
    )]
    Truncated {
        /// Bytes in the file.
        bytes: usize,
    },
    /// The file's content contradicts itself.
    #[error("the WAV file is damaged ({reason}); copy it again, or record the pluck again")]
    Damaged {
        /// What the decoder found.
        reason: String,
    },
    /// A kind of WAV file that is not read.
    #[error("the WAV file holds {what}, which cannot be read here; save it as plain 16 or 24 bit WAV")]
    Unsupported {
        /// The variant.
        what: String,
    },
    /// More than two channels.
    #[error("the recording has {channels} channels and the limit is 2; save it as mono or stereo")]
    TooManyChannels {
        /// Channels in the file.
        channels: u16,
    },
    /// A sampling rate outside the limits.
    #[error(
        "the recording has {rate_hz} samples a second, which is not between {least} and {most}; save it at 44100"
    )]
    Rate {
        /// Samples a second.
        rate_hz: f64,
        /// Least allowed.
        least: f64,
        /// Most allowed.
        most: f64,
    },
    /// Too short to hear a pluck in.
    #[error(
        "the recording lasts {seconds:.2} s and at least {least} s are needed; record a second of quiet, then the plucks"
    )]
    TooShort {
        /// Its length.
        seconds: f64,
        /// Least allowed.
        least: f64,
    },
    /// Longer than a recording may be.
    #[error("the recording lasts {seconds:.0} s and the limit is {most} s; cut it to the plucks")]
    TooLong {
        /// Its length.
        seconds: f64,
        /// Most allowed.
        most: f64,
    },
    /// A sample that is no number.
    #[error("sample {index} of the recording is not a number; record the pluck again")]
    NotANumber {
        /// Which sample.
        index: usize,
    },
}
