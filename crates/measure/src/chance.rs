//! Seeded chance: numbers by purpose and counter, the same on any number of threads.
//!
//! A [`Stream`] belongs to one purpose ("drift", "sink"); its numbers are reached by counter, so
//! that particle 17 gets the same draws whoever computes it, and a new use never shifts another.
//! The generator is SplitMix64 used as a counter hash (Steele, Lea, Flood 2014; constants as in the
//! shared benchmark programs, which print check values).

/// The one seed of an incident.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seed(pub u64);

const GAMMA: u64 = 0x9E37_79B9_7F4A_7C15;

#[inline(always)]
fn finalise(z: u64) -> u64 {
    let z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

impl Seed {
    /// The stream for one purpose.
    pub fn stream(self, purpose: &str) -> Stream {
        // FNV-1a over the purpose, then mixed with the seed: names far apart, streams far apart.
        let mut name: u64 = 0xCBF2_9CE4_8422_2325;
        for byte in purpose.bytes() {
            name = (name ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01B3);
        }
        Stream { key: finalise(self.0.wrapping_add(GAMMA)) ^ finalise(name) }
    }
}

/// An endless row of numbers, each reached by its counter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stream {
    key: u64,
}

impl Stream {
    /// The stream whose SplitMix64 state starts at `key`, as the benchmark programs define it.
    pub const fn from_key(key: u64) -> Self {
        Stream { key }
    }

    /// The key, for kernels that inline the hash.
    pub const fn key(self) -> u64 {
        self.key
    }

    /// 64 random bits number `counter`.
    #[inline(always)]
    pub fn bits(self, counter: u64) -> u64 {
        finalise(self.key.wrapping_add(counter.wrapping_add(1).wrapping_mul(GAMMA)))
    }

    /// Uniform number `counter` in \[0, 1), 53 bits.
    #[inline(always)]
    pub fn u01(self, counter: u64) -> f64 {
        (self.bits(counter) >> 11) as f64 * (1.0 / 9_007_199_254_740_992.0)
    }

    /// Two independent standard normals from uniforms `counter` and `counter + 1` (Box and Muller).
    pub fn normal_pair(self, counter: u64) -> (f64, f64) {
        box_muller(self.u01(counter), self.u01(counter + 1))
    }

    /// A walk along the stream, for code that draws one number after another.
    pub fn draws(self) -> Draws {
        Draws { stream: self, next: 0 }
    }
}

/// Two standard normals from two uniforms in \[0, 1).
///
/// # Source
/// the transform of Box and Muller (textbook)
pub fn box_muller(first: f64, second: f64) -> (f64, f64) {
    let radius = (-2.0 * libm::log1p(-first)).sqrt();
    let angle = std::f64::consts::TAU * second;
    (radius * libm::cos(angle), radius * libm::sin(angle))
}

/// Numbers of a stream one after another.
#[derive(Clone, Debug)]
pub struct Draws {
    stream: Stream,
    next: u64,
}

impl Draws {
    /// The next uniform in \[0, 1).
    pub fn u01(&mut self) -> f64 {
        self.next += 1;
        self.stream.u01(self.next - 1)
    }

    /// The next uniform in \[low, high).
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.u01()
    }

    /// The next standard normal.
    pub fn normal(&mut self) -> f64 {
        self.next += 2;
        self.stream.normal_pair(self.next - 2).0
    }

    /// A whole number in 0..`below` (`below` > 0).
    pub fn index(&mut self, below: usize) -> usize {
        self.next += 1;
        ((u128::from(self.stream.bits(self.next - 1)) * below as u128) >> 64) as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_values_of_the_shared_stream() {
        let zero = Stream::from_key(0);
        assert_eq!(zero.u01(0), 0.883_310_808_213_642_6);
        assert_eq!(zero.u01(1), 0.431_527_997_048_509_97);
        let year = Stream::from_key(20_240_611);
        assert_eq!(year.u01(0), 0.024_260_475_494_668_81);
        assert_eq!(year.u01(3), 0.095_233_896_945_339_57);
        let (a, b) = box_muller(0.25, 0.125);
        assert!((a - 0.536_360_021_302_651_7).abs() < 1e-15 && (b - a).abs() < 1e-15);
    }

    #[test]
    fn purposes_do_not_share_numbers() {
        let seed = Seed(7);
        let (drift, sink) = (seed.stream("drift"), seed.stream("sink"));
        let same = (0..1000).filter(|&k| drift.bits(k) == sink.bits(k)).count();
        assert_eq!(same, 0);
        assert_eq!(seed.stream("drift"), drift);
    }

    #[test]
    fn normals_have_mean_zero_and_variance_one() {
        let mut draws = Seed(1).stream("test").draws();
        let (mut sum, mut square) = (0.0, 0.0);
        let n = 40_000;
        for _ in 0..n {
            let z = draws.normal();
            sum += z;
            square += z * z;
        }
        let n = f64::from(n);
        // four standard errors: 4/sqrt(n) for the mean, 4*sqrt(2/n) for the variance
        assert!((sum / n).abs() < 4.0 / n.sqrt());
        assert!((square / n - 1.0).abs() < 4.0 * (2.0 / n).sqrt());
    }
}
