//! The demo's public page: on, with the farm's words and two drawn pictures of a place that is not there.

use super::farm::Farm;
use super::teller::Teller;
use crate::actions::Failure;
use crate::actions::prepare_picture::prepare;
use crate::actions::public_page::{PageIn, add_picture, change_page};

/// The pictures: what they are, and what is to be seen.
const PICTURES: [(&[u8], &str); 2] = [
    (include_bytes!("pictures/hogs.png"), "A drawing of three hogs under oak trees"),
    (include_bytes!("pictures/barn.png"), "A drawing of a red barn with a gambrel roof behind a rail fence"),
];

/// Opens the page to everybody.
pub(super) fn open(t: &mut Teller, farm: &Farm) -> Result<(), Failure> {
    let doing = t.doing(-88, 19);
    let page = PageIn {
        is_on: true,
        headline: "Beef, pork and lamb from the oak lot, by the share".into(),
        words: "We are two people, sixty acres and an old barn on Slough Road. The cattle are on grass all summer, the hogs in the oak \
                lot, the lambs where the grass is best.\n\nMeat is picked up frozen at the processor, in boxes with your name on them. \
                Bring coolers or blankets. If you have never bought a share before, call us: we like to explain."
            .into(),
        offerings: vec![farm.beef, farm.apart, farm.hogs, farm.lambs, farm.goats],
    };
    change_page(t.tx, &doing, 0, &page)?;
    for (file, alt) in PICTURES {
        add_picture(t.tx, &doing, alt, &prepare(file).map_err(Failure::Unexpected)?)?;
    }
    Ok(())
}
