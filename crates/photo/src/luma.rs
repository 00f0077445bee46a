//! Grey from colours.

/// Luma of encoded RGB by the weights of ITU-R BT.601, which JPEG's own luma channel uses (JFIF 1.02): all formats
/// give the same grey for the same colours.
pub(crate) fn from_rgb(rgb: &[u8]) -> Vec<u8> {
    rgb.chunks_exact(3)
        .map(|p| {
            // 0.299, 0.587, 0.114 in units of 1/65536; they sum to 65536, so white stays 255.
            let sum = 19_595 * u32::from(p[0]) + 38_470 * u32::from(p[1]) + 7_471 * u32::from(p[2]);
            ((sum + 32_768) >> 16) as u8
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::from_rgb;

    #[test]
    fn weights_are_those_of_bt_601() {
        assert_eq!(from_rgb(&[255, 255, 255, 0, 0, 0]), vec![255, 0]);
        // 0.299 * 255 = 76.2, 0.587 * 255 = 149.7, 0.114 * 255 = 29.1
        assert_eq!(from_rgb(&[255, 0, 0, 0, 255, 0, 0, 0, 255]), vec![76, 150, 29]);
    }
}
