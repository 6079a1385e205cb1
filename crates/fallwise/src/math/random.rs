//! Random numbers by counter: no state to carry from thread to thread, no order to keep.

use super::normal_quantile;

/// Stream of random numbers of one draw of one lateral.
///
/// The n-th number of a stream is a function of (seed, lateral, draw, n) alone, whatever was drawn elsewhere before.
///
/// # Source
/// Philox4x32-10 of J. K. Salmon, M. A. Moraes, R. O. Dror, D. E. Shaw, Parallel random numbers: as easy as 1, 2, 3
/// (SC11, 2011). The seed is the key; the counter's words are the block's number (two), the draw and the lateral.
///
/// # Example
/// ```
/// use fallwise::math::Random;
/// let (mut a, mut b) = (Random::new(7, 0, 41), Random::new(7, 0, 41));
/// assert_eq!(a.normal(), b.normal());
/// assert_ne!(a.normal(), Random::new(7, 0, 42).normal());
/// ```
#[derive(Debug, Clone)]
pub struct Random {
    key: [u32; 2],
    lateral: u32,
    draw: u32,
    block: u64,
    waiting: Option<u64>,
}

impl Random {
    /// The stream of one draw of one lateral.
    pub fn new(seed: u64, lateral: u32, draw: u32) -> Self {
        let [low, high] = halves(seed);
        Self { key: [low, high], lateral, draw, block: 0, waiting: None }
    }

    /// Next 64 bits; each block of the generator gives two such numbers.
    pub fn next_u64(&mut self) -> u64 {
        if let Some(second) = self.waiting.take() {
            return second;
        }
        let [low, high] = halves(self.block);
        let [a, b, c, d] = philox([low, high, self.draw, self.lateral], self.key);
        self.block = self.block.wrapping_add(1);
        self.waiting = Some(joined(c, d));
        joined(a, b)
    }

    /// Uniform in the open interval (0, 1): the odd multiples of 2^-53, each as likely.
    ///
    /// 52 bits, not 53: with half a step added, the largest of 53 bits would round to 1.
    pub fn uniform(&mut self) -> f64 {
        const STEP: f64 = 1.0 / (1_u64 << 52) as f64;
        ((self.next_u64() >> 12) as f64 + 0.5) * STEP
    }

    /// Standard normal, by the inverse distribution function: one number used for one number given.
    pub fn normal(&mut self) -> f64 {
        normal_quantile(self.uniform())
    }
}

/// The ten rounds.
fn philox(mut counter: [u32; 4], mut key: [u32; 2]) -> [u32; 4] {
    for _ in 0..10 {
        let [low0, high0] = halves(0xD251_1F53 * u64::from(counter[0]));
        let [low1, high1] = halves(0xCD9E_8D57 * u64::from(counter[2]));
        counter = [high1 ^ counter[1] ^ key[0], low1, high0 ^ counter[3] ^ key[1], low0];
        key = [key[0].wrapping_add(0x9E37_79B9), key[1].wrapping_add(0xBB67_AE85)];
    }
    counter
}

/// Low and high half of 64 bits.
fn halves(bits: u64) -> [u32; 2] {
    let [a, b, c, d, e, f, g, h] = bits.to_le_bytes();
    [u32::from_le_bytes([a, b, c, d]), u32::from_le_bytes([e, f, g, h])]
}

fn joined(low: u32, high: u32) -> u64 {
    u64::from(low) | u64::from(high) << 32
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Known-answer vectors of Random123 (file kat_vectors, philox4x32 with 10 rounds), from memory.
    #[test]
    fn known_answers() {
        let cases = [
            ([0; 4], [0; 2], [0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8]),
            ([u32::MAX; 4], [u32::MAX; 2], [0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd]),
            (
                [0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344],
                [0xa4093822, 0x299f31d0],
                [0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1],
            ),
        ];
        for (counter, key, answer) in cases {
            assert_eq!(philox(counter, key), answer);
        }
    }

    /// The words of the counter are where the documentation says.
    #[test]
    fn indexed_by_seed_lateral_draw_and_position() {
        let mut random = Random::new(0x299f_31d0_a409_3822, 5, 3);
        let key = [0xa409_3822, 0x299f_31d0];
        let blocks = [philox([0, 0, 3, 5], key), philox([1, 0, 3, 5], key)];
        for [a, b, c, d] in blocks {
            assert_eq!(random.next_u64(), joined(a, b));
            assert_eq!(random.next_u64(), joined(c, d));
        }
    }

    #[test]
    fn a_stream_past_its_last_block_starts_again() {
        let mut random = Random { block: u64::MAX, ..Random::new(1, 2, 3) };
        let _ = (random.next_u64(), random.next_u64());
        assert_eq!(random.next_u64(), Random::new(1, 2, 3).next_u64());
    }

    /// Moments of 100,000 numbers; the bounds are five standard errors, and the stream is fixed.
    #[test]
    fn moments() {
        let n = 100_000.0_f64;
        let mut random = Random::new(1, 0, 0);
        let (mut uniform, mut mean, mut square) = (0.0, 0.0, 0.0);
        for _ in 0..100_000 {
            let u = random.uniform();
            assert!(u > 0.0 && u < 1.0);
            uniform += u;
            let z = random.normal();
            mean += z;
            square += z * z;
        }
        assert!((uniform / n - 0.5).abs() < 5.0 / (12.0 * n).sqrt());
        assert!((mean / n).abs() < 5.0 / n.sqrt());
        assert!((square / n - 1.0).abs() < 5.0 * (2.0 / n).sqrt());
    }
}
