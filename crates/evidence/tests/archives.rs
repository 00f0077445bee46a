//! Archives that other programs wrote, and such as mean harm: tried with Python's `zipfile`, which writes what it is told.

// Helpers of tests may unwrap, as the tests themselves.
#![allow(clippy::unwrap_used)]

mod made;

use made::{open, signed};
use shimwright_evidence::{Limits, open_bundle};
use std::process::Command;

/// Runs Python over the bundle `in.zip`; the script writes `out.zip`. `None` when there is no Python.
fn repacked(script: &str) -> Option<Vec<u8>> {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("in.zip"), signed().bytes).unwrap();
    let script = format!(
        "import zipfile, warnings\nwarnings.simplefilter('ignore')\nold = zipfile.ZipFile('in.zip')\n{script}"
    );
    let run = Command::new("python3")
        .args(["-c", &script])
        .current_dir(dir.path())
        .output();
    let Ok(run) = run else {
        println!("skipped: there is no python3");
        return None;
    };
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    Some(std::fs::read(dir.path().join("out.zip")).unwrap())
}

/// Copies the bundle with zipfile; `change` may alter `names`, `data` (by name) and `method`.
fn copied(change: &str) -> Option<Vec<u8>> {
    repacked(&format!(
        "names = old.namelist(); data = {{n: old.read(n) for n in names}}; method = zipfile.ZIP_STORED\n{change}\n\
         new = zipfile.ZipFile('out.zip', 'w')\n\
         for n in names: new.writestr(n, data.get(n, b''), method)\nnew.close()"
    ))
}

/// What is found in it, one line each, or why it is refused.
fn told(archive: &[u8]) -> String {
    match open(archive) {
        Err(error) => error.to_string(),
        Ok(opened) => opened
            .findings
            .iter()
            .map(|f| format!("{}: {}\n", f.subject, f.message))
            .collect(),
    }
}

#[test]
fn a_bundle_that_was_packed_again_is_told_from_one_that_was_changed() {
    for method in ["zipfile.ZIP_STORED", "zipfile.ZIP_DEFLATED"] {
        let Some(archive) = copied(&format!("method = {method}")) else {
            return;
        };
        let told = told(&archive);
        assert!(
            told.starts_with("the archive: byte ") && told.contains("the files inside are unchanged"),
            "{told}"
        );
    }
    let change = "method = zipfile.ZIP_DEFLATED\nn = 'checks/01-left-gap/result.json'\ndata[n] = data[n].replace(b'1.42', b'1.52')";
    let Some(archive) = copied(change) else { return };
    assert!(
        told(&archive).starts_with("checks/01-left-gap/result.json: its SHA-256"),
        "{}",
        told(&archive)
    );
}

#[test]
fn another_order_a_missing_and_a_foreign_file_are_named() {
    let Some(archive) = copied("i = names.index('record.pdf'); names[i], names[i+1] = names[i+1], names[i]")
    else {
        return;
    };
    assert_eq!(
        told(&archive),
        "evidence.json: it stands where record.pdf was: the order of the files was changed\n"
    );
    let Some(archive) = copied("names.remove('checks/01-left-gap/b.jpg')") else {
        return;
    };
    assert!(
        told(&archive).contains("checks/01-left-gap/b.jpg: it is missing"),
        "{}",
        told(&archive)
    );
    let Some(archive) = copied("names.append('extra.txt')") else {
        return;
    };
    assert!(
        told(&archive).contains("extra.txt: the manifest does not name it"),
        "{}",
        told(&archive)
    );
    let Some(archive) = copied("names.remove('manifest.sig')") else {
        return;
    };
    assert!(
        told(&archive).contains("manifest.sig: it is missing, and the manifest names a key"),
        "{}",
        told(&archive)
    );
    let Some(archive) = copied("names.remove('evidence.json')") else {
        return;
    };
    assert!(
        told(&archive).starts_with("the archive has no evidence.json"),
        "{}",
        told(&archive)
    );
}

#[test]
fn tricks_with_names_are_refused() {
    for (name, why) in [
        ("../evil.jpg", "leads out of its folder"),
        ("/etc/cron.d/evil", "is an absolute path"),
        ("C:/evil", "is an absolute path"),
        ("a\\\\b", "has a backslash"),
        ("checks/", "is a folder"),
        (".profile", "has a part that some systems read as something else"),
        ("nul.txt", "has a part that some systems read as something else"),
        ("a b", "has letters that bundles do not use"),
    ] {
        let Some(archive) = copied(&format!("names.append('{name}')")) else {
            return;
        };
        assert!(told(&archive).contains(why), "{name}: {}", told(&archive));
    }
    for twice in ["record.pdf", "RECORD.PDF"] {
        let Some(archive) = copied(&format!("names.append('{twice}')")) else {
            return;
        };
        assert!(
            told(&archive).contains("holds \"") && told(&archive).contains("twice"),
            "{}",
            told(&archive)
        );
    }
}

#[test]
fn bombs_links_and_secrets_are_refused_by_limits_that_are_named() {
    let Some(bomb) =
        copied("method = zipfile.ZIP_DEFLATED\nnames.append('bomb'); data['bomb'] = bytes(50_000_000)")
    else {
        return;
    };
    assert!(
        told(&bomb).starts_with("the expansion of bomb is 1"),
        "{}",
        told(&bomb)
    );
    assert!(told(&bomb).contains("the limit is 100"), "{}", told(&bomb));

    let Some(link) = repacked(
        "new = zipfile.ZipFile('out.zip', 'w')\nlink = zipfile.ZipInfo('link'); link.create_system = 3\n\
         link.external_attr = 0o120777 << 16\nnew.writestr(link, '/etc/passwd')\nnew.close()",
    ) else {
        return;
    };
    assert!(told(&link).contains("link is a link"), "{}", told(&link));

    let Some(packed) = copied("method = zipfile.ZIP_LZMA") else {
        return;
    };
    assert!(
        told(&packed).contains("packed with method 14"),
        "{}",
        told(&packed)
    );

    let whole = signed().bytes;
    let usual = Limits::default();
    for (limits, what) in [
        (
            Limits {
                bytes: 1_000,
                ..usual
            },
            "the size of the archive in bytes is",
        ),
        (
            Limits { entries: 3, ..usual },
            "the number of entries is 11 and the limit is 3",
        ),
        (
            Limits {
                file_bytes: 100,
                ..usual
            },
            "the size of manifest.json in bytes is",
        ),
    ] {
        let refusal = open_bundle(&whole, &limits).unwrap_err().to_string();
        assert!(refusal.starts_with(what), "{refusal}");
    }
    let Some(large) = copied("method = zipfile.ZIP_DEFLATED") else {
        return;
    };
    let tight = Limits {
        bytes: large.len() as u64,
        ..usual
    };
    let refusal = open_bundle(&large, &tight).unwrap_err().to_string();
    assert!(
        refusal.starts_with("the size of all files unpacked, in bytes,"),
        "{refusal}"
    );
}

/// An entry whose data unpack to more than the index says.
#[test]
fn an_entry_that_lies_about_its_size_is_stopped_there() {
    let Some(mut archive) =
        copied("method = zipfile.ZIP_DEFLATED\nnames.append('liar'); data['liar'] = b'ab' * 40")
    else {
        return;
    };
    let at = archive.windows(4).rposition(|part| part == b"liar").unwrap();
    archive[at - 46 + 24..at - 46 + 28].copy_from_slice(&70_u32.to_le_bytes());
    assert!(
        told(&archive).contains("liar: it has 71 bytes and the archive's index says 70"),
        "{}",
        told(&archive)
    );
}

#[test]
fn plain_tools_read_a_bundle_and_check_its_sums_and_signature() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("bundle.zip"), signed().bytes).unwrap();
    let run = |program: &str, arguments: &[&str]| {
        let output = Command::new(program)
            .args(arguments)
            .current_dir(dir.path())
            .output();
        let Ok(output) = output else {
            println!("skipped: there is no {program}");
            return None;
        };
        let text = String::from_utf8_lossy(&[output.stdout, output.stderr].concat()).into_owned();
        assert!(output.status.success(), "{program}: {text}");
        Some(text)
    };
    let Some(_) = run("unzip", &["-q", "bundle.zip"]) else {
        return;
    };
    if let Some(text) = run("sha256sum", &["-c", "--strict", "SHA256SUMS"]) {
        assert_eq!(
            text.lines().filter(|line| line.ends_with(": OK")).count(),
            10,
            "{text}"
        );
    }
    let check = [
        "pkeyutl",
        "-verify",
        "-pubin",
        "-inkey",
        "shop-key.pem",
        "-rawin",
        "-in",
        "manifest.json",
        "-sigfile",
    ];
    if let Some(text) = run("openssl", &[check.as_slice(), &["manifest.sig"]].concat()) {
        assert!(text.contains("Signature Verified Successfully"), "{text}");
    }
}
