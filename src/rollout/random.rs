//! A named portable generator, so that a seed gives the same run everywhere.

/// PCG-XSH-RR 64/32, one stream.
///
/// # Source
/// M. E. O'Neill, *PCG: A Family of Simple Fast Space-Efficient Statistically Good Algorithms for Random Number
/// Generation*, Harvey Mudd College HMC-CS-2014-0905, 2014.
///
/// # Example
/// ```
/// use berthage::rollout::Pcg32;
/// // First numbers of the reference implementation's demonstration, seed 42, stream 54.
/// let mut random = Pcg32::new(42, 54);
/// assert_eq!([random.next_u32(), random.next_u32(), random.next_u32()], [0xa15c_02b7, 0x7b47_f409, 0xba1d_3330]);
/// ```
#[derive(Debug, Clone)]
pub struct Pcg32 {
    state: u64,
    increment: u64,
}

impl Pcg32 {
    const MULTIPLIER: u64 = 6_364_136_223_846_793_005;

    /// The generator of a seed and a stream.
    #[must_use]
    pub fn new(seed: u64, stream: u64) -> Pcg32 {
        let mut generator = Pcg32 {
            state: 0,
            increment: (stream << 1) | 1,
        };
        generator.next_u32();
        generator.state = generator.state.wrapping_add(seed);
        generator.next_u32();
        generator
    }

    /// The next 32 bits.
    pub fn next_u32(&mut self) -> u32 {
        let old = self.state;
        self.state = old
            .wrapping_mul(Pcg32::MULTIPLIER)
            .wrapping_add(self.increment);
        let xored = (((old >> 18) ^ old) >> 27) as u32;
        xored.rotate_right((old >> 59) as u32)
    }

    /// An exponential time of the given mean `[s]`, never infinite: `−mean·ln(U)`, U in (0, 1].
    pub fn exponential(&mut self, mean: f64) -> f64 {
        let uniform = (f64::from(self.next_u32()) + 1.0) / 4_294_967_296.0;
        -mean * uniform.ln()
    }
}
