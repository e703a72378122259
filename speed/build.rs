//! Which compiler builds this and which versions of the peers, for the head of the tables.

use std::process::Command;
use std::{env, fs};

/// Whose versions are told.
const NAMED: [&str; 9] = [
    "groundrule",
    "regorus",
    "cel",
    "cedar-policy",
    "rhai",
    "jsonschema",
    "serde_json",
    "serde_yaml",
    "serde-saphyr",
];

fn main() {
    let lock = "../Cargo.lock";
    println!("cargo::rerun-if-changed={lock}");
    let text = fs::read_to_string(lock).expect("the lock file stands beside the package");
    let versions: Vec<String> = NAMED.iter().map(|name| version(&text, name)).collect();
    println!("cargo::rustc-env=VERSIONS={}", versions.join(", "));
    let compiler = env::var("RUSTC").expect("cargo names the compiler");
    let told = Command::new(compiler).arg("--version").output();
    let told = told.expect("the compiler runs").stdout;
    let told = String::from_utf8(told).expect("its version is text");
    println!("cargo::rustc-env=COMPILER={}", told.trim());
}

fn version(lock: &str, name: &str) -> String {
    let entry = format!("name = \"{name}\"\nversion = \"");
    let (_, after) = lock
        .split_once(&entry)
        .expect("each peer is in the lock file");
    let (version, _) = after.split_once('"').expect("a version ends");
    format!("{name} {version}")
}
