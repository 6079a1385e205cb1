//! Makes the demo jobs: `cargo run --release --example make_demos [-- FOLDER]`.
//!
//! The place, the people and the pipes are invented. Every log comes from the forward model with a fixed seed, so that
//! the truth behind each demo stands here, and the same files come out on any machine.

use std::{fs, path::Path};

use fallwise_examples::demos::{DEMOS, Demo};

#[expect(clippy::print_stdout, reason = "a command says what it wrote")]
fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).unwrap_or_else(|| "examples/demos".to_owned());
    for demo in DEMOS {
        let Demo { name, job, logs, photos } = demo;
        let folder = Path::new(&folder).join(name);
        fs::create_dir_all(&folder)?;
        fs::write(folder.join("job.toml"), job)?;
        for log in logs {
            fs::write(folder.join(log.name), (log.make)()?)?;
        }
        for photo in photos {
            fs::write(folder.join(photo.name), (photo.make)())?;
        }
        println!("{}", folder.display());
    }
    Ok(())
}
