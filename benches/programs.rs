//! Made-up programs of any size from a fixed seed: the same bytes on every machine.

use std::io::Write;

/// Marsaglia's xorshift with 64 bits of state (Xorshift RNGs, Journal of Statistical Software 8(14), 2003).
struct Dice(u64);

impl Dice {
    fn below(&mut self, limit: i64) -> i64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as i64 % limit
    }

    fn between(&mut self, low: i64, high: i64) -> i64 {
        low + self.below(high - low + 1)
    }
}

/// Program text being written; lengths are whole micrometres, so that every arc closes exactly.
struct Pen {
    text: Vec<u8>,
    number: u64,
    dice: Dice,
    at: [i64; 3],
}

impl Pen {
    fn new(seed: u64, name: &str) -> Self {
        let mut pen = Self { text: Vec::new(), number: 0, dice: Dice(seed), at: [0, 0, 50_000] };
        write!(pen.text, "%\nO1000 ({name})\nN1G21G17G40G49G80G90G54G94G98\n").unwrap_or_default();
        pen
    }

    /// One block: the line number, then `words`.
    fn block(&mut self, words: std::fmt::Arguments<'_>) {
        self.number = (self.number + 1) % 99_999;
        writeln!(self.text, "N{}{words}", self.number).unwrap_or_default();
    }

    fn tool(&mut self, tool: i64, speed: i64) {
        self.block(format_args!("T{tool}M6"));
        self.block(format_args!("G0G43H{tool}Z50."));
        self.block(format_args!("S{speed}M3M7"));
        self.at[2] = 50_000;
    }

    fn end(mut self) -> Vec<u8> {
        self.block(format_args!("G0Z50.M9"));
        self.block(format_args!("G49M5"));
        self.block(format_args!("M30"));
        self.text.extend(b"%\n");
        self.text
    }

    fn go(&mut self, x: i64, y: i64, z: i64) {
        self.at = [x, y, z];
        self.block(format_args!("X{}Y{}Z{}", Length(x), Length(y), Length(z)));
    }
}

/// Micrometres, printed as millimetres with three decimals.
struct Length(i64);

impl std::fmt::Display for Length {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        write!(f, "{sign}{}.{:03}", self.0.abs() / 1000, self.0.abs() % 1000)
    }
}

/// A trimming program of about `size` bytes: long runs of modal G1, arcs among them, a feed now and then, rapid links.
pub fn trimming(size: usize) -> Vec<u8> {
    let mut pen = Pen::new(0x1A57_5EED, "TRIM");
    let mut passes = 0;
    while pen.text.len() < size {
        if passes % 500 == 0 {
            pen.tool(12, 8000);
        }
        passes += 1;
        let (x, y) = (pen.dice.between(-450_000, 450_000), pen.dice.between(-450_000, 450_000));
        pen.block(format_args!("G0X{}Y{}", Length(x), Length(y)));
        pen.block(format_args!("Z{}", Length(5_000)));
        pen.block(format_args!("G1Z{}F600.", Length(-7_000)));
        pen.at = [x, y, -7_000];
        for _ in 0..pen.dice.between(200, 600) {
            match pen.dice.below(400) {
                0..8 => quarter_arc(&mut pen),
                8 => pen.block(format_args!("F{}.", 1000 + 100 * passes % 700)),
                _ => {
                    let step = [(); 3].map(|()| pen.dice.between(-2_000, 2_000));
                    let inside = |at: i64, step: i64| if (at + step).abs() > 480_000 { at - step } else { at + step };
                    let z = -7_000 + step[2] / 10;
                    pen.go(inside(pen.at[0], step[0]), inside(pen.at[1], step[1]), z);
                }
            }
        }
        pen.block(format_args!("G0Z50."));
    }
    pen.end()
}

/// A quarter turn about a centre near the tool, then G1 again.
fn quarter_arc(pen: &mut Pen) {
    let [i, j] = [(); 2].map(|()| pen.dice.between(500, 4_000));
    let (centre_x, centre_y) = (pen.at[0] + i, pen.at[1] + j);
    let (x, y) = (centre_x - j, centre_y + i);
    pen.block(format_args!("G2X{}Y{}I{}J{}", Length(x), Length(y), Length(i), Length(j)));
    pen.at = [x, y, pen.at[2]];
    pen.block(format_args!("G1"));
}

/// Distance of holes in a row and of rows, micrometres.
const PITCH: i64 = 950;

/// A drilling program of `holes` holes in canned cycles whose words stay in force, row after row; about one series in
/// five hundred is fed too fast.
pub fn drilling(holes: usize) -> Vec<u8> {
    let mut pen = Pen::new(0xD211_5EED, "DRILL");
    let mut drilled: usize = 0;
    let mut series = 0;
    while drilled < holes {
        if series % 20 == 0 {
            pen.tool(6, 4200);
        }
        series += 1;
        let feed = if series % 500 == 7 { 420 } else { 252 };
        let (x, y) = place(drilled);
        let place = format!("X{}Y{}", Length(x), Length(y));
        pen.block(format_args!("G0{place}"));
        match pen.dice.below(5) {
            0 => pen.block(format_args!("G99G73{place}Z-8.500R2.Q2.F{feed}.")),
            1 => pen.block(format_args!("G99G81{place}Z-8.500R2.F{feed}.")),
            2 => pen.block(format_args!("G99G82{place}Z-8.500R2.P.2F{feed}.")),
            3 => pen.block(format_args!("G99G83{place}Z-8.500R2.Q1.5F{feed}.")),
            _ => pen.block(format_args!("G99G85{place}Z-8.500R2.F{feed}.")),
        }
        drilled += 1;
        for _ in 0..pen.dice.between(30, 120).min(holes.saturating_sub(drilled) as i64) {
            let (x, y) = self::place(drilled);
            pen.block(format_args!("X{}Y{}", Length(x), Length(y)));
            drilled += 1;
        }
        pen.block(format_args!("G80"));
        pen.block(format_args!("G0Z50."));
    }
    pen.end()
}

/// Where hole `index` lies: rows of a thousand, forth and back.
fn place(index: usize) -> (i64, i64) {
    let (row, along) = ((index / 1000) as i64, (index % 1000) as i64);
    let column = if row % 2 == 0 { along } else { 999 - along };
    (column * PITCH - 475_000, row * PITCH - 475_000)
}
