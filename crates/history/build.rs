//! The migrations are built into the crate: a new one must cause a rebuild.
fn main() {
    println!("cargo:rerun-if-changed=migrations");
}
