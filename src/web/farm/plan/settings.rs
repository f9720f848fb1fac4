//! How the page plans: which species, whether what is arranged stays, from how many quarters on a head is begun.

use crate::trade::share::Species;
use crate::web::farmer::Farmer;

/// How to plan, as the page's address and its forms carry it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Settings {
    /// One species, or all.
    pub(super) species: Option<Species>,
    /// Whether what is arranged stays.
    pub(super) keep: bool,
    /// 1 to 4.
    pub(super) from: u8,
}

impl Settings {
    /// Reads them; what is missing or odd is as usual: all species, what is arranged stays, and the farm's own setting. An
    /// unticked box sends nothing, so `set` tells that the form was sent.
    pub(super) fn read(get: impl Fn(&str) -> String, farmer: &Farmer) -> Self {
        let usual = u8::try_from(farmer.farm.open_custom_from).unwrap_or(1);
        let from = get("from").parse().ok().filter(|n| (1..=4).contains(n));
        Self {
            species: get("species").parse().ok(),
            keep: get("set").is_empty() || get("keep") == "yes",
            from: from.unwrap_or(usual),
        }
    }
    /// The page with these.
    pub(super) fn url(&self) -> String {
        let species = self.species.map_or("", Species::as_str);
        let keep = if self.keep { "&keep=yes" } else { "" };
        format!("/plan?set=1&species={species}{keep}&from={}", self.from)
    }
}
