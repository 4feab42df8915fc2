//! Enumerations that are written as words in case files, on cards and in the ledger.

/// Declares an enumeration with the word of each variant, so that readers, schemas and pages share one list.
macro_rules! vocabulary {
    ($(#[$meta:meta])* $name:ident { $($(#[$variant_meta:meta])* $variant:ident = $word:literal,)+ }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$variant_meta])* $variant,)+ }

        impl $name {
            /// Every variant, in the order in which it is listed to a reader.
            pub const ALL: &'static [$name] = &[$($name::$variant,)+];

            /// Every word, in the same order.
            pub const WORDS: &'static [&'static str] = &[$($word,)+];

            /// The word as it is written in files and on cards.
            pub const fn word(self) -> &'static str {
                match self { $($name::$variant => $word,)+ }
            }

            /// The variant that is written with this word.
            pub fn from_word(word: &str) -> Option<$name> {
                match word { $($word => Some($name::$variant),)+ _ => None }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.word())
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(self.word())
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let word = <std::borrow::Cow<'de, str>>::deserialize(deserializer)?;
                $name::from_word(&word).ok_or_else(|| serde::de::Error::unknown_variant(&word, $name::WORDS))
            }
        }
    };
}
pub(crate) use vocabulary;
