//! Where a visitor asks for a share: the one place that knows whether the farm takes requests, and at which address.

use crate::book::ids::OfferingId;
use crate::book::rows::farm::Farm;
use crate::trade::requests::Requests;
use crate::trade::share::{Part, Size};

/// Whether the farm takes requests by this page.
pub fn takes_requests(farm: &Farm) -> bool {
    farm.requests != Requests::Off
}

/// A share as addresses name it, the same as in the choice of a share when a reservation is taken: `half`, `quarter-split`.
pub fn share_id(size: Size, part: Option<Part>) -> String {
    format!("{size}{}", part.map_or(String::new(), |p| format!("-{p}")))
}

/// The address at which a share of an offering is asked for; none while the farm takes no requests by this page.
pub fn reserve_link(takes_requests: bool, offering: OfferingId, size: Size, part: Option<Part>) -> Option<String> {
    takes_requests.then(|| format!("/farm/reserve/{offering}?share={}", share_id(size, part)))
}

/// Reads a share as [`share_id`] writes it; a bare `quarter` is the first kind of quarter there is.
pub fn share_of(text: &str, kinds: &[(Size, Option<Part>)]) -> Option<(Size, Option<Part>)> {
    let exactly = kinds.iter().find(|(size, part)| share_id(*size, *part) == text);
    exactly.or_else(|| kinds.iter().find(|(size, _)| size.as_str() == text)).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_named_as_where_reservations_are_taken_and_read_back() {
        let fore = (Size::Quarter, Some(Part::Fore));
        let kinds = [(Size::Half, None), (Size::Quarter, Some(Part::Hind)), fore];
        for (size, part) in kinds {
            assert_eq!(share_of(&share_id(size, part), &kinds), Some((size, part)));
        }
        assert_eq!(share_id(Size::Quarter, Some(Part::Split)), "quarter-split");
        assert_eq!(share_of("quarter", &kinds), Some((Size::Quarter, Some(Part::Hind))));
        assert_eq!((share_of("whole", &kinds), share_of("", &kinds)), (None, None));
        let id = OfferingId(3);
        assert_eq!(reserve_link(false, id, Size::Half, None), None);
        assert_eq!(reserve_link(true, id, Size::Quarter, fore.1).unwrap(), "/farm/reserve/3?share=quarter-fore");
    }
}
