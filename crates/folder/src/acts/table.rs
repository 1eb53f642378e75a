//! How an act is declared: once, and its table of fields, its reading and its writing follow.

use crate::fields::{Kind, Record};
use crate::taker::Taker;

/// An act, or a part of one, that has a field table.
pub(crate) trait Part: Sized {
    /// Its table.
    const KIND: &'static Kind;

    /// Reads it.
    fn read(row: &mut Taker<'_>) -> Option<Self>;

    /// Writes it.
    fn write(&self) -> Record;
}

/// Declares acts and parts of acts: for each its type, word and meaning, and for each field
/// how it is given, its name, type, meaning and an example.
///
/// A field `must` or `may` be given, is a `list` that may be empty, or a `flag` of which not
/// given means no; `row` and `rows` hold one part or several, which must be given, and `some`
/// holds parts of which not given means none. The shape
/// of a field is that of its type, and a field of the type that is left out does not compile.
macro_rules! declare {
    ($($form:ident $thing:ident $word:literal $doc:literal {
        $($how:ident $field:ident: $type:ty, $meaning:literal, $example:literal;)*
    })*) => {$(
        impl $crate::acts::table::Part for record::act::$thing {
            const KIND: &'static $crate::fields::Kind = {
                static KIND: $crate::fields::Kind = $crate::fields::Kind {
                    noun: $word,
                    table: $word,
                    file: "acts",
                    doc: $doc,
                    fields: &[$($crate::fields::Field {
                        name: stringify!($field),
                        shape: declare!(@shape $how $type),
                        required: declare!(@required $how),
                        doc: $meaning,
                        example: $example,
                    }),*],
                    form: declare!(@form $form),
                };
                &KIND
            };

            fn read(row: &mut $crate::taker::Taker<'_>) -> Option<Self> {
                $(let $field = declare!(@read row $how $field $type);)*
                Some(Self { $($field: declare!(@got $how $field)),* })
            }

            fn write(&self) -> $crate::fields::Record {
                let Self { $($field),* } = self;
                let giver = $crate::taker::Giver::new(Self::KIND);
                $(let giver = declare!(@write giver $how $field);)*
                giver.done()
            }
        }
    )*};

    (@form act) => { $crate::fields::Form::Act };
    (@form part) => { $crate::fields::Form::Part };

    (@shape list $type:ty) => { <$type as $crate::notation::Listed>::LIST };
    (@shape flag $type:ty) => { <$type as $crate::notation::Notated>::SHAPE };
    (@shape must $type:ty) => { <$type as $crate::notation::Notated>::SHAPE };
    (@shape may $type:ty) => { <$type as $crate::notation::Notated>::SHAPE };
    (@shape row $type:ty) => {
        $crate::fields::Shape::Row(<$type as $crate::acts::table::Part>::KIND)
    };
    (@shape rows $type:ty) => {
        $crate::fields::Shape::Rows(<$type as $crate::acts::table::Part>::KIND)
    };

    (@shape some $type:ty) => {
        $crate::fields::Shape::Rows(<$type as $crate::acts::table::Part>::KIND)
    };

    (@required must) => { true };
    (@required row) => { true };
    (@required rows) => { true };
    (@required $how:ident) => { false };

    (@read $row:ident must $field:ident $type:ty) => {
        $row.need::<$type>(stringify!($field))
    };
    (@read $row:ident may $field:ident $type:ty) => {
        $row.maybe::<$type>(stringify!($field))
    };
    (@read $row:ident list $field:ident $type:ty) => {
        $row.list::<$type>(stringify!($field))
    };
    (@read $row:ident flag $field:ident $type:ty) => {
        $row.flag(stringify!($field))
    };
    (@read $row:ident row $field:ident $type:ty) => {
        $row.row(stringify!($field), <$type as $crate::acts::table::Part>::read)
    };
    (@read $row:ident rows $field:ident $type:ty) => {
        $row.rows(stringify!($field), <$type as $crate::acts::table::Part>::read)
    };

    (@read $row:ident some $field:ident $type:ty) => {
        $row.rows_if_any(stringify!($field), <$type as $crate::acts::table::Part>::read)
    };

    (@got must $field:ident) => { $field? };
    (@got row $field:ident) => { $field? };
    (@got $how:ident $field:ident) => { $field };

    (@write $giver:ident must $field:ident) => { $giver.put(stringify!($field), $field) };
    (@write $giver:ident may $field:ident) => {
        $giver.maybe(stringify!($field), $field.as_ref())
    };
    (@write $giver:ident list $field:ident) => { $giver.list(stringify!($field), $field) };
    (@write $giver:ident flag $field:ident) => { $giver.flag(stringify!($field), *$field) };
    (@write $giver:ident row $field:ident) => {
        $giver.out(
            stringify!($field),
            $crate::fields::Out::Row($crate::acts::table::Part::write($field)),
        )
    };
    (@write $giver:ident some $field:ident) => {
        if $field.is_empty() { $giver } else { declare!(@write $giver rows $field) }
    };
    (@write $giver:ident rows $field:ident) => {
        $giver.out(
            stringify!($field),
            $crate::fields::Out::Rows(
                $field.iter().map($crate::acts::table::Part::write).collect(),
            ),
        )
    };
}

pub(crate) use declare;
