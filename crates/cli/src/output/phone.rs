//! What is shown while a phone takes photos.

use shimwright_app::receive::{Event, Invitation, Qr, StopReason};

/// Light modules around a QR code (ISO/IEC 18004).
const QUIET: usize = 4;

/// How a phone gets in.
pub fn invitation(invitation: &Invitation) -> String {
    let (first, second) = invitation.code.split_at(4);
    format!(
        "{}Open {}\ncode         {first} {second}\ncertificate  {}\nCompare the certificate's fingerprint with what the \
         phone's browser shows before you go on.\n",
        qr(&invitation.qr),
        invitation.address,
        invitation.fingerprint
    )
}

/// A QR code in half blocks: dark is the terminal's background in most, so light modules are the ones drawn.
fn qr(code: &Qr) -> String {
    let wide = code.side + 2 * QUIET;
    let light = |x: usize, y: usize| {
        let inside = |at: usize| at.checked_sub(QUIET).filter(|at| *at < code.side);
        match (inside(x), inside(y)) {
            (Some(x), Some(y)) => !code.dark[y * code.side + x],
            _ => y < wide,
        }
    };
    let mut text = String::new();
    for y in (0..wide).step_by(2) {
        for x in 0..wide {
            text.push(match (light(x, y), light(x, y + 1)) {
                (true, true) => '█',
                (true, false) => '▀',
                (false, true) => '▄',
                (false, false) => ' ',
            });
        }
        text.push('\n');
    }
    text
}

/// What happened, in words.
pub fn event(event: &Event) -> String {
    match event {
        Event::Started { address } => format!("a phone can connect to {address} now"),
        Event::WrongCode { from, left } => format!("a wrong code came from {from}; tries left: {left}"),
        Event::Paired { from } => format!("a phone at {from} is paired"),
        Event::Kept { sha256 } => format!("a photo was taken in, SHA-256 {sha256}"),
        Event::Refused { sha256 } => format!("a photo was refused, SHA-256 {sha256}"),
        Event::Stopped(reason) => format!("phones cannot connect any more: {}", why(*reason)),
    }
}

fn why(reason: StopReason) -> &'static str {
    match reason {
        StopReason::Asked => "it was ended",
        StopReason::NobodyPaired => "nobody typed the code in time",
        StopReason::WrongCodes => "too many wrong codes",
        StopReason::Idle => "the phone did nothing for too long",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_qr_code_has_its_quiet_zone() {
        let code = Qr {
            side: 2,
            dark: vec![true, false, false, true],
        };
        let text = qr(&code);
        let lines: Vec<Vec<char>> = text.lines().map(|line| line.chars().collect()).collect();
        assert_eq!(lines.len(), 5);
        assert!(lines.iter().all(|line| line.len() == 10));
        assert_eq!(lines[2][4..6], ['▄', '▀']);
        assert!(lines[0].iter().chain(&lines[4]).all(|sign| *sign == '█'));
    }
}
