//! Gives the shared library its soname, which has the version of its binary interface in it.

use std::{env, fs};

fn main() {
    println!("cargo::rerun-if-changed=src/version.rs");
    println!("cargo::rerun-if-changed=build.rs");
    let source = fs::read_to_string("src/version.rs").unwrap_or_default();
    let abi = source
        .split_once("pub const FW_ABI_VERSION: u32 = ")
        .and_then(|(_, rest)| rest.split_once(';'))
        .map_or("0", |(number, _)| number);
    let system = env::var("CARGO_CFG_TARGET_OS").unwrap_or_default();
    if ["linux", "freebsd", "netbsd", "openbsd", "android"].contains(&system.as_str()) {
        println!("cargo::rustc-cdylib-link-arg=-Wl,-soname,libfallwise.so.{abi}");
    }
}
