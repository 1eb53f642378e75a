//! What is asked of parts on their way to a firm and back.

use airframe::ItemId;

use super::judge::Judge;
use super::parts::Whereabouts;
use crate::act::{Accept, Certificate, Chase, Despatch, Power, Receive};
use crate::{RuleKey, TakesOn};

impl Judge<'_> {
    pub(super) fn despatch(&mut self, act: &Despatch) {
        let Despatch {
            item,
            firm,
            order,
            scope,
            document,
            due,
            preservation,
            carrier,
            ..
        } = act;
        self.power(Power::Stores, Some(item));
        self.free(item);
        let firms = &self.programme.firms;
        let away = self.known(firms, firm).is_none_or(|f| f.takes_on == TakesOn::Away);
        self.hold(
            away,
            RuleKey::Custody,
            || format!("{firm} works here; nothing is sent to it"),
            "leave the part where it is",
        );
        for (field, text) in [
            ("order", order),
            ("scope", scope),
            ("document", document),
            ("preservation", preservation),
            ("carrier", carrier),
        ] {
            self.hold(
                !text.trim().is_empty(),
                RuleKey::Custody,
                || format!("the despatch of {item} leaves `{field}` open"),
                "say it before the part leaves",
            );
        }
        self.not_over("due", *due, RuleKey::Custody);
        let declared =
            act.declaration.as_ref().is_some_and(|text| !text.trim().is_empty());
        if let Some(medium) = act.dangerous.filter(|_| !declared) {
            let what = format!("{item} holds {} and travels undeclared", medium.word());
            let hint =
                "have it declared by somebody trained for it, or make it safe first";
            self.refuse(RuleKey::DangerousGoods, what, hint);
        }
    }

    fn away(&mut self, item: &ItemId) -> bool {
        let Some(part) = self.off(item) else { return false };
        let away = matches!(part.whereabouts, Whereabouts::Away(_));
        self.hold(
            away,
            RuleKey::Custody,
            || format!("{item} is not away"),
            "look where the record says that it is",
        )
    }

    pub(super) fn chase(&mut self, act: &Chase) {
        self.stated("answer", &act.answer);
        if let Some(due) = act.due {
            self.not_over("due", due, RuleKey::Custody);
        }
        self.away(&act.item);
    }

    pub(super) fn receive(&mut self, act: &Receive) {
        self.stated("packing", &act.packing);
        self.place(&act.place);
        self.away(&act.item);
    }

    pub(super) fn accept(&mut self, act: &Accept) {
        let Accept { item, certificate, done, complete } = act;
        self.power(Power::Stores, Some(item));
        let Some(part) = self.here(item) else { return };
        self.hold(
            part.waits,
            RuleKey::Known,
            || format!("{item} does not wait for a receiving check"),
            "nothing needs to be accepted",
        );
        self.hold(
            part.quarantine.is_none(),
            RuleKey::Segregation,
            || format!("{item} is in quarantine"),
            "release it first",
        );
        self.stated("done", done);
        self.hold(
            *complete,
            RuleKey::ReceivingCheck,
            || format!("not all that was ordered for {item} was done"),
            "put it into quarantine, or send it back",
        );
        self.certificate(item, certificate);
    }

    fn certificate(&mut self, item: &ItemId, certificate: &Certificate) {
        let Certificate { number, status, serial, data, revision } = certificate;
        for (field, text) in [("number", number), ("status", status), ("data", data)] {
            self.hold(
                !text.trim().is_empty(),
                RuleKey::ReleaseDocument,
                || format!("the document of {item} says no `{field}`"),
                "have the firm put it right; the part waits",
            );
        }
        self.hold(
            !status.contains(['/', ',', ';', '+']),
            RuleKey::ReleaseDocument,
            || format!("the document of {item} has more than one status: {status}"),
            "have the firm put it right; the part waits",
        );
        let revised =
            revision.as_ref().is_some_and(|revision| !revision.trim().is_empty());
        self.hold(
            revised,
            RuleKey::ReleaseDocument,
            || format!("the document of {item} names data without their revision"),
            "have the firm put it right; the part waits",
        );
        let own = self.programme.items.get(item).and_then(|item| item.serial.as_ref());
        if let Some(own) = own {
            let same = serial.as_ref().is_some_and(|serial| serial.trim() == own.trim());
            self.hold(
                same,
                RuleKey::ReleaseDocument,
                || {
                    let found = serial.as_deref().unwrap_or("none");
                    format!("{item} has the serial number {own}, its document {found}")
                },
                "find out which part this is before anything else is done with it",
            );
        }
    }
}
