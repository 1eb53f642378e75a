//! Exact fractions of `i128`, and their one rounding to `f64`.

/// A fraction in lowest terms; the denominator is positive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Rational {
    num: i128,
    den: i128,
}

impl Rational {
    pub(crate) const ZERO: Self = Self { num: 0, den: 1 };

    /// `num / den`, or `None` when the denominator is zero or a sign cannot be turned.
    pub(crate) fn new(num: i128, den: i128) -> Option<Self> {
        if den == 0 {
            return None;
        }
        let common = i128::try_from(gcd(num.unsigned_abs(), den.unsigned_abs())).ok()?;
        let (num, den) = (num / common, den / common);
        if den < 0 {
            return Some(Self { num: num.checked_neg()?, den: den.checked_neg()? });
        }
        Some(Self { num, den })
    }

    pub(crate) fn integer(num: i128) -> Self {
        Self { num, den: 1 }
    }

    /// The value, when it is a whole number.
    pub(crate) fn whole(self) -> Option<i128> {
        (self.den == 1).then_some(self.num)
    }

    pub(crate) fn is_zero(self) -> bool {
        self.num == 0
    }

    pub(crate) fn checked_neg(self) -> Option<Self> {
        Some(Self { num: self.num.checked_neg()?, den: self.den })
    }

    pub(crate) fn checked_add(self, other: Self) -> Option<Self> {
        let common = gcd(self.den.unsigned_abs(), other.den.unsigned_abs());
        let common = i128::try_from(common).ok()?;
        let left = self.num.checked_mul(other.den / common)?;
        let right = other.num.checked_mul(self.den / common)?;
        let den = self.den.checked_mul(other.den / common)?;
        Self::new(left.checked_add(right)?, den)
    }

    pub(crate) fn checked_mul(self, other: Self) -> Option<Self> {
        // Cancelled across first, so that a product overflows only when its value must.
        let left = Self::new(self.num, other.den)?;
        let right = Self::new(other.num, self.den)?;
        let num = left.num.checked_mul(right.num)?;
        Self::new(num, left.den.checked_mul(right.den)?)
    }

    /// The nearest `f64`, ties to even.
    ///
    /// Binary long division yields at least 55 bits of quotient; what remains is folded
    /// into the last bit, so that the one conversion to `f64` rounds the true value.
    pub(crate) fn to_f64(self) -> f64 {
        const ENOUGH: u128 = 1 << 54;
        if self.num == 0 {
            return 0.0;
        }
        let den = self.den.unsigned_abs();
        let mut quotient = self.num.unsigned_abs() / den;
        let mut rest = self.num.unsigned_abs() % den;
        let mut shift: u64 = 0;
        while quotient < ENOUGH {
            rest <<= 1;
            quotient <<= 1;
            if rest >= den {
                rest -= den;
                quotient |= 1;
            }
            shift += 1;
        }
        if rest != 0 {
            quotient |= 1;
        }
        // At most 127 + 55 doublings, so the power of two is a normal `f64`.
        let power = f64::from_bits((1023 - shift) << 52);
        let size = quotient as f64 * power;
        if self.num < 0 { -size } else { size }
    }
}

/// 10 to the power of `exponent`, when it fits.
pub(crate) fn power_of_ten(exponent: u32) -> Option<i128> {
    10_i128.checked_pow(exponent)
}

fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn ratio(num: i128, den: i128) -> Rational {
        Rational::new(num, den).unwrap()
    }

    #[test]
    fn is_kept_in_lowest_terms_with_the_sign_above() {
        assert_eq!(ratio(6, -8), ratio(-3, 4));
        assert_eq!(ratio(0, -5), Rational::ZERO);
        assert_eq!(Rational::new(1, 0), None);
        assert_eq!(Rational::new(i128::MIN, -1), None);
    }

    #[test]
    fn overflow_is_none_and_cancelling_avoids_it() {
        let huge = ratio(i128::MAX, 2);
        assert_eq!(huge.checked_mul(ratio(2, i128::MAX)), Some(Rational::integer(1)));
        assert_eq!(huge.checked_mul(ratio(3, 1)), None);
        assert_eq!(huge.checked_add(huge), None);
        assert_eq!(huge.checked_add(ratio(i128::MAX, 1)), None);
    }

    #[test]
    fn rounds_ties_to_even() {
        // 2^53 + 1 lies half way; 2^53 + 3 too, with the even neighbour above.
        let base = 1_i128 << 53;
        assert_eq!(ratio(base + 1, 1).to_f64(), 9_007_199_254_740_992.0);
        assert_eq!(ratio(base + 3, 1).to_f64(), 9_007_199_254_740_996.0);
        assert_eq!(ratio(2 * base + 3, 2).to_f64(), 9_007_199_254_740_994.0);
        assert_eq!(ratio(1, i128::MAX).to_f64(), 2.0_f64.powi(-127));
        assert_eq!(ratio(i128::MIN, 1).to_f64(), -(2.0_f64.powi(127)));
    }

    proptest! {
        /// Division of two exact `f64` is correctly rounded by IEEE 754.
        #[test]
        fn agrees_with_ieee_division(num in -(1_i64 << 53)..(1 << 53), den in 1..(1_i64 << 53)) {
            let ours = ratio(num.into(), den.into()).to_f64();
            prop_assert_eq!(ours.to_bits(), (num as f64 / den as f64 + 0.0).to_bits());
        }

        /// The standard library reads decimals with one rounding as well.
        #[test]
        fn agrees_with_the_decimal_reader(digits in 0_u64.., places in 0_u32..18) {
            let den = power_of_ten(places).unwrap();
            let theirs: f64 = format!("{digits}e-{places}").parse().unwrap();
            prop_assert_eq!(ratio(digits.into(), den).to_f64(), theirs);
        }
    }
}
