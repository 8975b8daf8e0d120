//! What is left to chance, and how it falls: seeded, the same items drawn in the same order whatever the plan's times are,
//! so that two plans of one sharing are compared on the same luck.

use crate::kitchen::Limits;

/// Quantile of the standard normal at 0.9.
pub const Z90: f64 = 1.281_551_565_544_600_4;

/// How often, and how much. From the house limits; a kitchen lays its own records over them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Luck {
    /// A simmer's own time over the planned is log-normal, median 1, one in ten over this.
    pub simmer_p90: f64,
    /// Whether chills vary: log-normal between the planned time and the slow end, one in ten over it.
    pub chill: bool,
    /// Weight over the expected of a joint not yet weighed, log-normal, median 1, one in ten over this.
    pub heavier_p90: f64,
    /// Share of deliveries that are late, and of the late ones that are a further day late, again and again.
    pub late: f64,
    pub later: f64,
    /// Share of turns that are forgotten and done the next day.
    pub missed: f64,
}

impl Luck {
    pub fn of(limits: &Limits) -> Self {
        let share = |id: &str| (limits.value(id) / 100.0).clamp(0.0, 0.95);
        Self {
            simmer_p90: limits.value("slow_simmer_factor").clamp(1.0, 10.0),
            chill: true,
            heavier_p90: 1.0 + share("chance_heavier_percent"),
            late: share("chance_late_delivery_percent"),
            later: share("chance_later_still_percent"),
            missed: share("chance_missed_turn_percent"),
        }
    }

    /// Nothing goes wrong.
    pub const NONE: Self = Self { simmer_p90: 1.0, chill: false, heavier_p90: 1.0, late: 0.0, later: 0.0, missed: 0.0 };
}

/// A stream of numbers of one run (SplitMix64: Steele, Lea and Flood, 2014).
pub struct Stream(u64);

impl Stream {
    pub fn new(seed: u64, run: u64) -> Self {
        let mut s = Self(seed ^ run.wrapping_mul(0xd134_2543_de82_ef95));
        s.next();
        Self(s.next())
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform, strictly between 0 and 1.
    pub fn unit(&mut self) -> f64 {
        ((self.next() >> 12) as f64 + 0.5) / (1u64 << 52) as f64
    }

    /// A factor with median 1 of which one in ten is over `p90`.
    pub fn factor(&mut self, p90: f64) -> f64 {
        (p90.ln() / Z90 * quantile(self.unit())).exp()
    }

    pub fn happens(&mut self, share: f64) -> bool {
        self.unit() < share
    }
}

/// Quantile of the standard normal distribution: Acklam's rational approximation, one step of Newton's method on the
/// complementary error function after it; checked against scipy in tests/plan/chance.rs.
pub fn quantile(p: f64) -> f64 {
    const A: [f64; 6] = [
        -3.969_683_028_665_376e1,
        2.209_460_984_245_205e2,
        -2.759_285_104_469_687e2,
        1.383_577_518_672_69e2,
        -3.066_479_806_614_716e1,
        2.506_628_277_459_239,
    ];
    const B: [f64; 5] = [
        -5.447_609_879_822_406e1,
        1.615_858_368_580_409e2,
        -1.556_989_798_598_866e2,
        6.680_131_188_771_972e1,
        -1.328_068_155_288_572e1,
    ];
    const C: [f64; 6] = [
        -7.784_894_002_430_293e-3,
        -3.223_964_580_411_365e-1,
        -2.400_758_277_161_838,
        -2.549_732_539_343_734,
        4.374_664_141_464_968,
        2.938_163_982_698_783,
    ];
    const D: [f64; 4] =
        [7.784_695_709_041_462e-3, 3.224_671_290_700_398e-1, 2.445_134_137_142_996, 3.754_408_661_907_416];
    let poly = |c: &[f64], x: f64| c.iter().fold(0.0, |sum, k| sum * x + k);
    let tail = |p: f64| {
        let q = (-2.0 * p.ln()).sqrt();
        poly(&C, q) / (poly(&D, q) * q + 1.0)
    };
    let p = p.clamp(1e-300, 1.0 - 1e-16);
    let x = if p < 0.02425 {
        tail(p)
    } else if p > 1.0 - 0.02425 {
        -tail(1.0 - p)
    } else {
        let q = p - 0.5;
        let r = q * q;
        poly(&A, r) * q / (poly(&B, r) * r + 1.0)
    };
    let e = 0.5 * libm::erfc(-x / std::f64::consts::SQRT_2) - p;
    x - e * (2.0 * std::f64::consts::PI).sqrt() * (x * x / 2.0).exp()
}
