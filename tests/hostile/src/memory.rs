//! What this process holds, as Linux tells it; zero elsewhere.

/// Most memory that was ever resident, bytes.
pub fn peak_bytes() -> u64 {
    of_status("VmHWM:")
}

/// Memory that is resident now, bytes.
pub fn resident_bytes() -> u64 {
    of_status("VmRSS:")
}

fn of_status(name: &str) -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix(name));
    let kilobytes = line.and_then(|rest| rest.split_whitespace().next()?.parse::<u64>().ok());
    kilobytes.unwrap_or(0) * 1024
}

/// Files, pipes and sockets that are open now.
pub fn open_files() -> usize {
    std::fs::read_dir("/proc/self/fd").map_or(0, Iterator::count)
}
