//! Whether there is a display to open a window on.

/// Says in a sentence why no window can be opened.
#[cfg(target_os = "linux")]
pub fn present() -> Result<(), &'static str> {
    let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    if set("DISPLAY") || set("WAYLAND_DISPLAY") {
        return Ok(());
    }
    Err(
        "there is no display to open a window on (neither DISPLAY nor WAYLAND_DISPLAY is set); \
         start it on a desktop, or use the command line: `shimwright --help`",
    )
}

/// Says in a sentence why no window can be opened; this system always has a display.
#[cfg(not(target_os = "linux"))]
pub fn present() -> Result<(), &'static str> {
    Ok(())
}
