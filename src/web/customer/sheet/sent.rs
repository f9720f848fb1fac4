//! After a cut sheet was sent: what happens next, and until when it can be changed.

use super::{HOME, Seen, look};
use crate::actions::Failure;
use crate::actions::cut_sheet::SheetIn;
use crate::actions::share_side::neighbor_panel;
use crate::book::plants;
use crate::book::rows::sheets::SheetRequest;
use crate::book::sheets_due;
use crate::trade::dates::{long, span};
use crate::trade::instructions::{Instruction, instructions};
use crate::trade::sheet_json;
use crate::trade::vocabulary::Inspection;
use crate::web::app::App;
use crate::web::customer::frame::CustomerFrame;
use crate::web::customer::holder::Holder;
use crate::web::errors::Answer;
use crate::web::look::neighbor::{Neighbor, neighbor};
use crate::web::look::parts::{Standing, StoryLine};
use crate::web::look::respond::{page, see_other};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "customer/sheet/sent.html")]
struct SentPage {
    frame: CustomerFrame,
    heading: String,
    lead: String,
    next: Vec<StoryLine>,
    lines: Vec<Instruction>,
    special: String,
    /// Where the other quarter of the side wishes otherwise, without a name.
    neighbor: Neighbor,
    /// Ownership and "Not for Sale", where the plant is custom-exempt.
    custom: bool,
}

/// What happens next, in order of time.
fn next(seen: &Seen, holder: &Holder) -> Vec<StoryLine> {
    let today = holder.now.today;
    let line = |when: String, says: String, why: String| StoryLine {
        when: Standing::plain(when),
        says,
        why,
        link: None,
        later: true,
    };
    let Some(date) = &seen.date else {
        let says = "We set a day for your animal at the processor, and write to you.".to_string();
        return vec![line("Later".into(), says, seen.until())];
    };
    let mut all = Vec::new();
    if let crate::actions::sheet_open::May::Change(Some(day)) = &seen.may {
        let why = "After that it goes to the processor; you can still ask for a change then.".to_string();
        all.push(line(long(*day, today), "The last day on which you can change it.".into(), why));
    }
    let day = long(date.kill_on, today);
    all.push(line(
        day,
        "Your animal goes to the processor, who cuts by this sheet.".into(),
        "We write to you when it is weighed.".into(),
    ));
    if let (Some(from), Some(to)) = (date.pickup_from, date.pickup_to) {
        let why = "We write to you when your share is ready.".to_string();
        all.push(line(span(from, to, today), "Ready to collect, as far as we know now.".into(), why));
    }
    all
}

/// The page; to the beginning when nothing was sent.
pub(super) async fn show(holder: Holder, app: web::Data<App>) -> Answer {
    let seen = look(&holder, &app).await?;
    let (order, processor) = (holder.order, seen.date.as_ref().map(|d| d.processor_id));
    let (asked, custom, panel) = app
        .read(move |c| {
            let asked = sheets_due::requests_of(c, order)?.into_iter().next().filter(|r| r.decided_at.is_none());
            let custom = match processor {
                Some(id) => plants::get(c, id)?.inspection == Inspection::Custom,
                None => false,
            };
            Ok((asked, custom, neighbor_panel(c, order)?))
        })
        .await?;
    let asked: Option<SheetRequest> = asked;
    let (text, special) = match (&asked, &seen.stored) {
        (Some(r), _) => (&r.sheet, &r.special),
        (None, Some(s)) => (&s.sheet, &s.special),
        (None, None) => return Ok(see_other(HOME)),
    };
    let kept = sheet_json::read(text).map_err(Failure::Unexpected)?;
    let input = SheetIn { kept, special: special.clone() };
    let lines = instructions(&seen.hanging(&input), &input.kept.sheet)
        .map_err(|e| Failure::Unexpected(format!("a stored cut sheet cannot be read: {e:?}")))?;
    let share = holder.share.to_lowercase();
    let (heading, lead) = match &asked {
        Some(_) => {
            let lead = "We decide whether it can still be done, and write to you either way. Until then the sheet that was in stays.";
            ("Your wish is with us".to_string(), lead.to_string())
        }
        None => (format!("The cut sheet of your {share} is in"), seen.until()),
    };
    Ok(page(&SentPage {
        frame: holder.frame(),
        heading,
        lead,
        next: next(&seen, &holder),
        lines,
        special: input.special,
        neighbor: neighbor(panel),
        custom,
    }))
}
