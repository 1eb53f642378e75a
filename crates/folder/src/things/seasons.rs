//! The programme, its gates and its seasons.

use airframe::Weighed;
use record::{Gate, Info, Season};

use crate::fields::{GATE, Kind, PROGRAMME, Record, SEASON};
use crate::taker::{Giver, Taker};
use crate::things::Thing;

/// Reads what the programme is about.
pub(crate) fn read_info(row: &mut Taker<'_>) -> Option<Info> {
    let name = row.need("name");
    let aircraft = row.need("aircraft");
    let registration = row.maybe("registration");
    let keeper = row.maybe("keeper");
    let datum = row.maybe("datum");
    let currency = row.need("currency");
    let invented = row.flag("invented");
    row.only_with("weighed_mass", "weighed_arm");
    row.only_with("weighed_arm", "weighed_mass");
    let weighed = match (row.maybe("weighed_mass"), row.maybe("weighed_arm")) {
        (Some(mass), Some(arm)) => Some(Weighed { mass, arm }),
        _ => None,
    };
    Some(Info {
        name: name?,
        aircraft: aircraft?,
        registration,
        keeper,
        datum,
        currency: currency?,
        invented,
        weighed,
    })
}

/// Writes what the programme is about.
pub(crate) fn write_info(info: &Info) -> Record {
    let Info { name, aircraft, registration, keeper, datum, currency, invented, weighed } =
        info;
    Giver::new(&PROGRAMME)
        .put("name", name)
        .put("aircraft", aircraft)
        .maybe("registration", registration.as_ref())
        .maybe("keeper", keeper.as_ref())
        .maybe("datum", datum.as_ref())
        .put("currency", currency)
        .flag("invented", *invented)
        .maybe("weighed_mass", weighed.as_ref().map(|weighed| &weighed.mass))
        .maybe("weighed_arm", weighed.as_ref().map(|weighed| &weighed.arm))
        .done()
}

impl Thing for Gate {
    const KIND: &'static Kind = &GATE;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name, order) = (row.need("id"), row.need("name"), row.need("order"));
        Some(Self { id: id?, name: name?, order: order? })
    }

    fn write(&self) -> Record {
        let Self { id, name, order } = self;
        Giver::new(&GATE).put("id", id).put("name", name).put("order", order).done()
    }
}

impl Thing for Season {
    const KIND: &'static Kind = &SEASON;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name) = (row.need("id"), row.need("name"));
        let (from, until) = (row.need("from"), row.need("until"));
        let gate = row.need("gate");
        let shifts = row.need_list("shifts");
        let (closed, heating) = (row.list("closed"), row.list("heating"));
        let (wet, arrangement) = (row.list("wet"), row.maybe("arrangement"));
        Some(Self {
            id: id?,
            name: name?,
            from: from?,
            until: until?,
            gate: gate?,
            shifts,
            closed,
            heating,
            wet,
            arrangement,
        })
    }

    fn write(&self) -> Record {
        let Self {
            id,
            name,
            from,
            until,
            gate,
            shifts,
            closed,
            heating,
            wet,
            arrangement,
        } = self;
        Giver::new(&SEASON)
            .put("id", id)
            .put("name", name)
            .put("from", from)
            .put("until", until)
            .put("gate", gate)
            .whole_list("shifts", shifts)
            .list("closed", closed)
            .list("heating", heating)
            .list("wet", wet)
            .maybe("arrangement", arrangement.as_ref())
            .done()
    }
}
