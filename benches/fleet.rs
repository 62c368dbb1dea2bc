//! Time to check a folder of 500 programs of 2 000 blocks on all cores, as the command does it.

mod programs;

use std::error::Error;
use std::fs;
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::Instant;

const PROGRAMS: usize = 500;
/// Drilled holes of one program; with calls, retracts and tools they make about 2 000 blocks.
const HOLES: usize = 1_850;
/// Bytes of a block of a trimming program.
const TRIMMING: usize = 32;
/// Seconds a folder may take on two cores.
const TARGET: f64 = 10.0;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let (drilling, trimming) = (programs::drilling(HOLES), programs::trimming(2_000 * TRIMMING));
    let mut blocks = 0;
    for index in 0..PROGRAMS {
        let text = if index % 2 == 0 { &drilling } else { &trimming };
        blocks += text.iter().filter(|byte| **byte == b'\n').count();
        fs::write(folder.path().join(format!("p{index:03}.nc")), text)?;
    }
    let job = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/throughput.job.toml");
    for (name, more) in [("table", &[][..]), ("JSON Lines", &["--format", "jsonl"])] {
        let start = Instant::now();
        let mut command = Command::new(env!("CARGO_BIN_EXE_lastply"));
        let done = command.arg("check").arg(folder.path()).args(["--job", job]).args(more).stdout(Stdio::null());
        let status = done.stderr(Stdio::null()).status()?;
        let took = start.elapsed().as_secs_f64();
        let code = status.code().unwrap_or(-1);
        writeln!(
            std::io::stdout(),
            "{PROGRAMS} programs, {} blocks each on average, {name}: {took:.2} s (target {TARGET} s), exit code {code}",
            blocks / PROGRAMS
        )?;
    }
    Ok(())
}
