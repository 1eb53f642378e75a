//! Acts about people and what they may sign.

use airframe::Chapter;
use jiff::civil::Date;
use record::{AuthorityId, PersonId, Power};

use crate::acts::table::declare;

declare! {
    act Grant "grant"
    "Gives a person an authority. The first authority of a programme founds its record: it must be one to appoint." {
        must authority: AuthorityId, "The authority's name in the programme.", "A-07";
        must person: PersonId, "Who gets it.", "edith";
        must power: Power, "What it allows.", "certify";
        list chapters: Chapter, "Chapters to which it is limited; none means that it is not.", "53; 71-20";
        must reference: String, "The licence or approval on which it rests, with its number.", "Licence X-114";
        must from: Date, "The first day on which it is valid.", "2031-10-01";
        may until: Date, "The last day on which it is valid.", "2032-09-30";
        may specimen: String, "How the person signs on paper: initials or the number of a stamp.", "EM 7";
    }
    act Enrol "enrol" "Gives a person a key that only their secret makes: from then on what they sign is sealed with it. `turnbuckle enrol` asks for the secret and writes this." {
        must person: PersonId, "Whose key it is.", "edith";
        must key: String, "The public half of an Ed25519 key, in hexadecimal digits.", "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a";
        must salt: String, "What was mixed into the secret, in hexadecimal digits.", "000102030405060708090a0b0c0d0e0f";
        must derivation: String, "How the key is made of the secret, with its costs.", "argon2id m=65536 t=3 p=1";
        must reason: String, "Why: a first secret, a new one, one that was lost.", "First secret";
    }
    act Withdraw "withdraw" "Takes an authority away, at once. What was signed under it stands." {
        must authority: AuthorityId, "The authority.", "A-07";
        must reason: String, "Why.", "The licence was not renewed";
    }
}
