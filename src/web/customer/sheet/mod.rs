//! The customer's cut sheet, page by page: where to begin, one primal a page, ground meat, parts, wishes, a look at it all, sent.
//!
//! Nothing is lost on the way: every page saves what was chosen into a draft of the order, broken rules and all, so that it can be
//! left and continued on another device. Only what keeps every rule is sent.

mod block;
mod check;
mod part;
mod sent;
mod so_far;
mod start;

use super::holder::Holder;
use crate::actions::Failure;
use crate::actions::cut_sheet::{Basis, SheetIn, basis, look_over};
use crate::actions::own_yields::OwnYields;
use crate::actions::plant_offer::{There, of_order};
use crate::actions::sheet_cost::{Prices, prices};
use crate::actions::sheet_draft::draft_of;
use crate::actions::sheet_open::{May, lock_of, may_change};
use crate::book::rows::plants::ProcessingDate;
use crate::book::rows::selling::{Offering, Reservation};
use crate::book::rows::sheets::{CutSheet, SheetDraft};
use crate::book::{sheet_drafts, sheets};
use crate::trade::cuts::catalogue::{Block, Catalogue, Choice};
use crate::trade::cuts::common::Common;
use crate::trade::cuts::offer::Open;
use crate::trade::cuts::sheet::Hanging;
use crate::trade::cuts::take_home::TakeHome;
use crate::trade::cuts::{BadCatalogue, common};
use crate::trade::dates::full;
use crate::web::app::App;
use crate::web::costs::{Costs, costs};
use crate::web::errors::PageError;
use crate::web::sheet_form::offered::Offered;
use crate::web::sheet_form::steps::{self, Step};
use actix_web::web;
use std::sync::Arc;

/// Where the form begins.
const HOME: &str = "/my/cut-sheet";

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/my/cut-sheet", web::get().to(start::show));
    cfg.route("/my/cut-sheet", web::post().to(start::begin));
    cfg.route("/my/cut-sheet/check", web::get().to(check::show));
    cfg.route("/my/cut-sheet/check", web::post().to(check::send));
    cfg.route("/my/cut-sheet/sent", web::get().to(sent::show));
    cfg.route("/my/cut-sheet/{step}", web::get().to(part::show));
    cfg.route("/my/cut-sheet/{step}", web::post().to(part::save));
}

/// Everything a page of the form looks at.
struct Seen {
    basis: Basis,
    catalogue: &'static Catalogue,
    common: &'static Common,
    there: There,
    offered: Offered,
    open: Open<'static>,
    prices: Prices,
    own: Arc<OwnYields>,
    steps: Vec<Step>,
    stored: Option<CutSheet>,
    draft: Option<(SheetDraft, SheetIn)>,
    last: Option<(CutSheet, Reservation, Offering)>,
    may: May,
    date: Option<ProcessingDate>,
}

async fn look(holder: &Holder, app: &App) -> Result<Seen, PageError> {
    let (farm, today, id) = (holder.farm.clone(), holder.now.today, holder.order);
    let yields = app.yields.clone();
    Ok(app
        .read(move |c| {
            let faulty = |e: &BadCatalogue| Failure::Unexpected(e.to_string());
            let basis = basis(c, &farm, today, id)?;
            let (r, customer, o) = &basis.order;
            let (species, customer, reservation) = (o.species, customer.id, r.id);
            let catalogue = basis.hanging.catalogue().map_err(faulty)?;
            let there = of_order(c, &basis)?;
            Ok(Seen {
                catalogue,
                common: common().map_err(faulty)?,
                offered: Offered::by(there.offer.clone()),
                open: there.open(&basis)?,
                prices: prices(c, &basis, &there)?,
                own: yields.read(c, &farm, today)?,
                there,
                steps: steps::all(catalogue),
                stored: sheets::of(c, &[id])?.remove(&id),
                draft: draft_of(c, id)?,
                last: sheet_drafts::last_time(c, customer, species, reservation)?,
                may: may_change(c, today, id)?,
                date: lock_of(c, today, id)?.0,
                basis,
            })
        })
        .await?)
}

/// What is wrong with a sheet: the field it is about, and the sentence.
type Wrong = Vec<(String, String)>;

impl Seen {
    /// The share with head and skin as the sheet has them.
    fn hanging(&self, input: &SheetIn) -> Hanging {
        Hanging { head_on: input.kept.head_on, skin_on: input.kept.skin_on, ..self.basis.hanging }
    }

    /// What comes home of a sheet, or every rule it breaks.
    fn forecast(&self, input: &SheetIn) -> Result<Result<TakeHome<'static>, Wrong>, Failure> {
        match look_over(&self.basis, &self.there, input) {
            Ok((_, home)) => Ok(Ok(home)),
            Err(Failure::Refused(problems)) => Ok(Err(problems.0.into_iter().map(|p| (p.field, p.sentence)).collect())),
            Err(other) => Err(other),
        }
    }

    /// What is cut of a block when nothing is chosen: the standard cut, or what this processor does in its place.
    fn standard(&self, block: &Block) -> Option<&'static Choice> {
        self.open.blocks.iter().find(|open| open.block.id == block.id)?.standard
    }

    /// What the share costs with a sheet, as far as it is known.
    fn costs(&self, input: &SheetIn, home: &TakeHome<'_>) -> Costs {
        let plant = self.there.plant.as_ref().map(|p| p.name.as_str());
        costs(self.common, &self.basis, &self.prices, plant, &input.kept, home)
    }

    /// The step a field stands on.
    fn step_of(&self, field: &str) -> Option<usize> {
        steps::of_field(self.catalogue, self.common, &self.steps, field)
    }

    /// The address of a step; past the last one it is the page that shows it all.
    fn href(&self, n: usize) -> String {
        self.steps.get(n).map_or_else(|| format!("{HOME}/check"), |s| format!("{HOME}/{}", s.slug))
    }

    /// The address of a field; what is about the sheet as a whole is shown at the beginning of the form.
    fn href_of(&self, field: &str) -> String {
        self.step_of(field).map_or_else(|| HOME.to_string(), |n| format!("{}#{field}", self.href(n)))
    }

    /// Until when it can be changed, in a sentence; or why it cannot.
    fn until(&self) -> String {
        match &self.may {
            May::Change(Some(day)) => format!("You can change it until the end of {}.", full(*day)),
            May::Change(None) => {
                "You can change it until we set a day for your animal, and we write to you before.".into()
            }
            May::Ask(why) | May::Nothing(why) => why.clone(),
        }
    }

    /// "the loin" for the button that leads to it.
    fn name_of(&self, n: usize) -> String {
        match self.steps.get(n) {
            Some(step @ Step { kind: steps::Kind::Primal(_), .. }) => format!("the {}", step.name),
            Some(step) => step.name.clone(),
            None => "the whole sheet".into(),
        }
    }
}
