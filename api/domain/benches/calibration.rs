//! How long a calibration takes: 40 scales of 40 codes with 2 000 statements.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use plugwell_domain::calibration::{Code, STATEMENTS_MAX, Statement, calibrate};
use plugwell_domain::decimal::Decimal;
use plugwell_domain::heat_scale::{HeatCode, HeatScaleData};

const SCALES: usize = 40;
const CODES: usize = 40;
const STATEMENTS: usize = 2_000;

/// Numbers that are the same in each run [Marsaglia's xorshift].
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, end: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % end as u64) as usize
    }
}

fn scales() -> Vec<HeatScaleData> {
    let codes = |falls: bool| {
        let index = move |place: usize| if falls { CODES - 1 - place } else { place };
        (0..CODES).map(move |place| HeatCode {
            code: place.to_string(),
            heat_index: Decimal(50 * index(place) as i64),
        })
    };
    let scale = |scale: usize| HeatScaleData {
        maker: format!("Maker {scale}"),
        name: "numbers".into(),
        codes: codes(scale % 3 == 2).collect(),
    };
    (0..SCALES).map(scale).collect()
}

/// Statements that miss by at most a code, 5 points, and some that miss by far more.
fn statements(count: usize, wrong: usize) -> Vec<Statement> {
    let mut numbers = Numbers(20_417);
    let place = |scale: usize, rank: usize| {
        if scale % 3 == 2 {
            CODES - 1 - rank
        } else {
            rank
        }
    };
    let all = (0..count).map(|i| {
        let first = numbers.below(SCALES);
        let second = (first + 1 + numbers.below(SCALES - 1)) % SCALES;
        let rank = numbers.below(CODES);
        let shift = if i < wrong { 15 } else { numbers.below(2) };
        let other = (rank + shift).min(CODES - 1);
        let code = |scale, rank| Code {
            scale,
            place: place(scale, rank),
        };
        Statement {
            a: code(first, rank),
            b: code(second, other),
            weight: 1.0,
        }
    });
    all.collect()
}

fn bench(criterion: &mut Criterion) {
    let mut group =
        criterion.benchmark_group("calibration of 40 scales of 40 codes, 2 000 statements");
    group.sample_size(10);
    for (name, count, wrong) in [
        ("as they agree", STATEMENTS, 0),
        ("with 20 wrong ones", STATEMENTS, 20),
        (
            "5 000, half of them wrong",
            STATEMENTS_MAX,
            STATEMENTS_MAX / 2,
        ),
    ] {
        let (scales, statements) = (scales(), statements(count, wrong));
        let found = calibrate(&scales, 0, &statements, 10.0).expect("a fit");
        println!("{name}: {} contradictions", found.contradictions.len());
        group.bench_function(name, |b| {
            b.iter(|| black_box(calibrate(&scales, 0, &statements, 10.0)));
        });
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
