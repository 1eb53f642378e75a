//! What all physical quantities share: a finite number in one canonical unit.

/// Keeps a result of arithmetic finite, and its zero without a sign.
///
/// A sum of finite numbers can only fail by growing past the largest `f64`; it then stays
/// there, which no quantity of this world comes near.
pub(crate) fn held(value: f64) -> f64 {
    value.clamp(f64::MIN, f64::MAX) + 0.0
}

/// Implements construction, order, text and conversion for a newtype over `f64` that has
/// a `SCALE` and a `print` of its own.
macro_rules! quantity {
    ($name:ident, $noun:literal) => {
        impl $name {
            fn of(
                number: f64,
                unit: $crate::unit::Unit,
            ) -> Result<Self, $crate::NotFinite> {
                Self::finite(unit.to_canonical(number))
            }

            fn finite(value: f64) -> Result<Self, $crate::NotFinite> {
                match value.is_finite() {
                    true => Ok(Self(value + 0.0)),
                    false => Err($crate::NotFinite::new($noun)),
                }
            }
        }

        impl Eq for $name {}

        impl PartialEq for $name {
            fn eq(&self, other: &Self) -> bool {
                self.0 == other.0
            }
        }

        impl Ord for $name {
            fn cmp(&self, other: &Self) -> std::cmp::Ordering {
                // Total and in step with `==`: never a NaN, and zero has no sign.
                self.0.total_cmp(&other.0)
            }
        }

        impl PartialOrd for $name {
            fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
                Some(self.cmp(other))
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(&$crate::Notation::print(*self))
            }
        }

        impl std::fmt::Debug for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                write!(f, "{}({self})", stringify!($name))
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::QuantityError;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                $crate::Notation::parse(text)
            }
        }
    };
}

/// Adds the arithmetic of quantities whose zero means none.
macro_rules! additive {
    ($name:ident, $noun:literal) => {
        impl $name {
            /// None of it.
            pub const ZERO: Self = Self(0.0);

            /// The size without the sign.
            #[must_use]
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }

            /// How many times `other` this is.
            ///
            /// # Errors
            /// When `other` is zero, or so small that the ratio leaves the range of `f64`.
            pub fn ratio_to(self, other: Self) -> Result<f64, $crate::NotFinite> {
                let ratio = self.0 / other.0;
                match ratio.is_finite() {
                    true => Ok(ratio),
                    false => Err($crate::NotFinite::new("a ratio")),
                }
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;

            fn add(self, other: Self) -> Self {
                Self($crate::scalar::held(self.0 + other.0))
            }
        }

        impl std::ops::AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                *self = *self + other;
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;

            fn sub(self, other: Self) -> Self {
                Self($crate::scalar::held(self.0 - other.0))
            }
        }

        impl std::ops::SubAssign for $name {
            fn sub_assign(&mut self, other: Self) {
                *self = *self - other;
            }
        }

        impl std::ops::Neg for $name {
            type Output = Self;

            fn neg(self) -> Self {
                Self($crate::scalar::held(-self.0))
            }
        }

        /// A multiple by a count, which cannot fail: the count is never NaN.
        impl std::ops::Mul<u32> for $name {
            type Output = Self;

            fn mul(self, count: u32) -> Self {
                Self($crate::scalar::held(self.0 * f64::from(count)))
            }
        }

        /// A multiple by any number, which fails when the number or the product is not
        /// finite.
        impl std::ops::Mul<f64> for $name {
            type Output = Result<Self, $crate::NotFinite>;

            fn mul(self, factor: f64) -> Self::Output {
                Self::finite(self.0 * factor)
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(terms: I) -> Self {
                terms.fold(Self::ZERO, |total, term| total + term)
            }
        }

        impl<'a> std::iter::Sum<&'a Self> for $name {
            fn sum<I: Iterator<Item = &'a Self>>(terms: I) -> Self {
                terms.copied().sum()
            }
        }

        impl Default for $name {
            fn default() -> Self {
                Self::ZERO
            }
        }
    };
}

pub(crate) use {additive, quantity};
