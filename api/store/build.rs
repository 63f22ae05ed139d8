//! The migrations are embedded: a changed one asks for a new build.

fn main() {
    println!("cargo:rerun-if-changed=../../migrations");
}
