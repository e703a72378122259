//! The library inside the program is read when the program is built: build again when it changes.
fn main() {
    for folder in ["rules", "jurisdictions", "shared"] {
        println!("cargo:rerun-if-changed={folder}");
    }
}
