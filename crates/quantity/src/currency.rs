//! Currencies by their ISO 4217 code.
//!
//! Codes and minor units follow ISO 4217: read from the `codes-all.csv` of the public
//! `datasets/currency-codes` collection (the list of March 2014), and brought up to date
//! from memory for the codes that changed since: BYN, MRU, SLE, STN, VED, VES, XCG, ZMW,
//! ZWG, and UGX without a minor unit. Fund codes, metals and test codes are left out.

use std::fmt;
use std::str::FromStr;

use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::error::{Fault, QuantityError, quoted};

/// A currency that is, or lately was, in use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Currency {
    code: &'static str,
    places: u8,
}

impl Currency {
    /// Pound sterling.
    pub const GBP: Self = Self { code: "GBP", places: 2 };
    /// Euro.
    pub const EUR: Self = Self { code: "EUR", places: 2 };
    /// United States dollar.
    pub const USD: Self = Self { code: "USD", places: 2 };

    pub(crate) const NOUN: &'static str = "a currency";

    /// The currency with this code of three letters; capitals do not matter.
    ///
    /// # Errors
    /// When no such code is known.
    pub fn new(code: &str) -> Result<Self, QuantityError> {
        Self::known(code.trim()).ok_or_else(|| {
            let sentence = format!("{} is not a known currency code", quoted(code));
            let fault = Fault::new(0..code.len(), sentence)
                .hint("write the three letters of ISO 4217, such as GBP, EUR or USD");
            QuantityError::new(Self::NOUN, code, fault)
        })
    }

    /// The three letters.
    pub const fn code(self) -> &'static str {
        self.code
    }

    /// How many decimals an amount has: 0, 2 or 3.
    pub const fn places(self) -> u32 {
        self.places as u32
    }

    /// How many minor units make one: 1, 100 or 1000.
    pub const fn minor_units(self) -> i64 {
        10_i64.pow(self.places())
    }

    pub(crate) fn known(code: &str) -> Option<Self> {
        [(0, WITHOUT_MINOR), (2, WITH_HUNDREDTHS), (3, WITH_THOUSANDTHS)]
            .into_iter()
            .find_map(|(places, codes)| {
                let code = codes
                    .split_ascii_whitespace()
                    .find(|known| known.eq_ignore_ascii_case(code))?;
                Some(Self { code, places })
            })
    }

    /// Whether amounts in this currency are written with a `$`.
    pub(crate) fn has_dollar_sign(self) -> bool {
        DOLLARS.split_ascii_whitespace().any(|code| code == self.code)
    }
}

/// As its code.
impl Serialize for Currency {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.code)
    }
}

impl<'de> Deserialize<'de> for Currency {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let code = <&str>::deserialize(deserializer)?;
        Self::new(code).map_err(D::Error::custom)
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.code)
    }
}

impl FromStr for Currency {
    type Err = QuantityError;

    fn from_str(code: &str) -> Result<Self, QuantityError> {
        Self::new(code)
    }
}

const WITHOUT_MINOR: &str =
    "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF";

const WITH_THOUSANDTHS: &str = "BHD IQD JOD KWD LYD OMR TND";

const WITH_HUNDREDTHS: &str = "\
    AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BRL BSD BTN BWP \
    BYN BZD CAD CDF CHF CNY COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP \
    GEL GHS GIP GMD GTQ GYD HKD HNL HRK HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD \
    KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD \
    NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD \
    SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS \
    VED VES WST XCD XCG YER ZAR ZMW ZWG";

const DOLLARS: &str = "\
    ARS AUD BBD BMD BND BSD BZD CAD CLP COP CUP DOP FJD GYD HKD JMD KYD LRD MXN NAD NZD \
    SBD SGD SRD TTD TWD USD UYU XCD";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_known_with_their_decimals() {
        for (code, places) in [("GBP", 2), ("jpy", 0), ("BHD", 3), ("UGX", 0)] {
            let currency = Currency::new(code).unwrap();
            assert_eq!(currency.places(), places);
            assert_eq!(currency.code(), code.to_uppercase());
        }
        assert_eq!(Currency::new("GBP").unwrap(), Currency::GBP);
        assert_eq!(Currency::GBP.minor_units(), 100);
    }

    #[test]
    fn unknown_codes_say_so() {
        for code in ["", "GB", "POUND", "XXX", "£££"] {
            let error = Currency::new(code).unwrap_err();
            assert!(error.to_string().contains("not a known currency code"), "{error}");
            assert!(error.hint().unwrap().contains("GBP"));
        }
    }

    #[test]
    fn each_code_is_listed_once_with_three_capitals() {
        let mut codes: Vec<&str> = [WITHOUT_MINOR, WITH_HUNDREDTHS, WITH_THOUSANDTHS]
            .iter()
            .flat_map(|codes| codes.split_ascii_whitespace())
            .collect();
        assert!(codes.iter().all(|code| {
            code.len() == 3 && code.bytes().all(|c| c.is_ascii_uppercase())
        }));
        let count = codes.len();
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), count);
        assert!(DOLLARS.split_ascii_whitespace().all(|code| codes.contains(&code)));
    }
}
