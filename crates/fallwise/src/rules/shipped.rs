//! The shipped rulebooks, as text.

/// Name and text of each, in order of name.
pub(super) const BOOKS: &[(&str, &str)] = &[
    ("apwa-style", include_str!("shipped/apwa-style.toml")),
    ("as-nzs-3500-2", include_str!("shipped/as-nzs-3500-2.toml")),
    ("carmel-ca", include_str!("shipped/carmel-ca.toml")),
    ("din-1986-100", include_str!("shipped/din-1986-100.toml")),
    ("en-752", include_str!("shipped/en-752.toml")),
    ("ipc-2021", include_str!("shipped/ipc-2021.toml")),
    ("irc-2021", include_str!("shipped/irc-2021.toml")),
    ("npc-canada", include_str!("shipped/npc-canada.toml")),
    ("obc", include_str!("shipped/obc.toml")),
    ("ten-states-2014", include_str!("shipped/ten-states-2014.toml")),
    ("texas-217-53", include_str!("shipped/texas-217-53.toml")),
    ("uk-approved-document-h-2015", include_str!("shipped/uk-approved-document-h-2015.toml")),
    ("uk-en-752-4-1998", include_str!("shipped/uk-en-752-4-1998.toml")),
    ("upc-2021", include_str!("shipped/upc-2021.toml")),
    ("us-ordinances", include_str!("shipped/us-ordinances.toml")),
    ("winter-garden-fl", include_str!("shipped/winter-garden-fl.toml")),
];
