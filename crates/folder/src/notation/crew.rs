//! Who a job takes: `2 fitter + 1 inspector`.

use airframe::{Crew, SkillId};
use quantity::{Estimate, Notation, Work};

use crate::fields::{Out, Shape};
use crate::notation::{Fault, Listed, Notated, quoted};

/// Everybody whom a job takes.
pub(crate) struct Team(pub(crate) Vec<Crew>);

/// Another way to crew a job, with its own hours: `1 fitter: 14 h`.
pub(crate) struct Way(pub(crate) Vec<Crew>, pub(crate) Estimate<Work>);

impl Notated for Team {
    const SHAPE: Shape = Shape::Crew;

    fn parse(text: &str) -> Result<Self, Fault> {
        text.split('+').map(crew).collect::<Result<_, _>>().map(Self)
    }

    fn print(&self) -> Out {
        Out::Text(shown(&self.0))
    }
}

impl Notated for Way {
    const SHAPE: Shape = Shape::Ways;

    fn parse(text: &str) -> Result<Self, Fault> {
        let Some((team, hours)) = text.split_once(':') else {
            let what = format!("the hours are missing in {}", quoted(text.trim()));
            return Err(
                Fault::new(what).hint("write the crew and its hours: `1 fitter: 14 h`")
            );
        };
        Ok(Self(Team::parse(team)?.0, <Estimate<Work> as Notation>::parse(hours)?))
    }

    fn print(&self) -> Out {
        Out::Text(format!("{}: {}", shown(&self.0), Notation::print(self.1)))
    }
}

impl Listed for Way {
    const LIST: Shape = Shape::Ways;
}

fn shown(team: &[Crew]) -> String {
    let each = team.iter().map(|crew| format!("{} {}", crew.count, crew.skill));
    each.collect::<Vec<_>>().join(" + ")
}

fn crew(text: &str) -> Result<Crew, Fault> {
    const HINT: &str =
        "write how many and which skill, joined by `+`: `2 fitter + 1 inspector`";
    let text = text.trim();
    if text.is_empty() {
        return Err(
            Fault::new("a skill is missing next to a `+` or in an empty crew").hint(HINT)
        );
    }
    let (count, skill) = match text.split_once(char::is_whitespace) {
        Some((count, skill)) => (count, skill.trim()),
        None => ("1", text),
    };
    let Ok(count) = count.parse::<i64>() else {
        return Err(Fault::new(format!("{} is not a number and a skill", quoted(text)))
            .hint(HINT));
    };
    let skill = SkillId::parse(skill)
        .map_err(|fault| Fault { hint: Some(HINT.into()), ..fault })?;
    match u32::try_from(count) {
        Ok(count) if (1..=1000).contains(&count) => Ok(Crew { count, skill }),
        _ => Err(Fault::new(format!("a crew cannot have {count} of one skill"))
            .hint("write a number from 1 to 1000")),
    }
}
