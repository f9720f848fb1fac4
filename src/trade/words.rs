//! Closed lists of words (enums that are stored and sent as lower-case text), and the columns of our newtypes.

/// Declares an enum whose variants are fixed words, with `as_str`, `ALL`, `FromStr`, `Display`, serde and text columns.
///
/// Each variant has the stored word and the label a person reads.
#[macro_export]
macro_rules! words {
    ($(#[$meta:meta])* $vis:vis enum $name:ident { $($(#[$vmeta:meta])* $variant:ident = $word:literal, $label:literal;)+ }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, diesel::expression::AsExpression, diesel::deserialize::FromSqlRow)]
        #[diesel(sql_type = diesel::sql_types::Text)]
        $vis enum $name { $($(#[$vmeta])* $variant,)+ }

        impl $name {
            /// Every word, in the order people expect to read them.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];
            /// The word as it is stored and sent.
            pub const fn as_str(self) -> &'static str { match self { $(Self::$variant => $word,)+ } }
            /// The words a person reads.
            pub const fn label(self) -> &'static str { match self { $(Self::$variant => $label,)+ } }
        }
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result { f.write_str(self.as_str()) }
        }
        impl std::str::FromStr for $name {
            type Err = String;
            fn from_str(s: &str) -> Result<Self, Self::Err> {
                match s { $($word => Ok(Self::$variant),)+ _ => Err(format!("choose one of: {}", [$($word),+].join(", "))) }
            }
        }
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> { s.serialize_str(self.as_str()) }
        }
        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
                let s = <std::borrow::Cow<'de, str> as serde::Deserialize>::deserialize(d)?;
                s.parse().map_err(serde::de::Error::custom)
            }
        }
        impl<DB: diesel::backend::Backend> diesel::serialize::ToSql<diesel::sql_types::Text, DB> for $name
        where str: diesel::serialize::ToSql<diesel::sql_types::Text, DB> {
            fn to_sql<'b>(&'b self, out: &mut diesel::serialize::Output<'b, '_, DB>) -> diesel::serialize::Result {
                <str as diesel::serialize::ToSql<diesel::sql_types::Text, DB>>::to_sql(self.as_str(), out)
            }
        }
        impl<DB: diesel::backend::Backend> diesel::deserialize::FromSql<diesel::sql_types::Text, DB> for $name
        where String: diesel::deserialize::FromSql<diesel::sql_types::Text, DB> {
            fn from_sql(bytes: DB::RawValue<'_>) -> diesel::deserialize::Result<Self> {
                let s = <String as diesel::deserialize::FromSql<diesel::sql_types::Text, DB>>::from_sql(bytes)?;
                Ok(s.parse::<Self>()?)
            }
        }
    };
}

/// Lets a newtype over `i64` stand in a BIGINT column on both engines.
#[macro_export]
macro_rules! big_int_column {
    ($name:ty) => {
        impl<DB: diesel::backend::Backend> diesel::serialize::ToSql<diesel::sql_types::BigInt, DB> for $name
        where
            i64: diesel::serialize::ToSql<diesel::sql_types::BigInt, DB>,
        {
            fn to_sql<'b>(&'b self, out: &mut diesel::serialize::Output<'b, '_, DB>) -> diesel::serialize::Result {
                <i64 as diesel::serialize::ToSql<diesel::sql_types::BigInt, DB>>::to_sql(&self.0, out)
            }
        }
        impl<DB: diesel::backend::Backend> diesel::deserialize::FromSql<diesel::sql_types::BigInt, DB> for $name
        where
            i64: diesel::deserialize::FromSql<diesel::sql_types::BigInt, DB>,
        {
            fn from_sql(bytes: DB::RawValue<'_>) -> diesel::deserialize::Result<Self> {
                <i64 as diesel::deserialize::FromSql<diesel::sql_types::BigInt, DB>>::from_sql(bytes).map(Self)
            }
        }
    };
}
