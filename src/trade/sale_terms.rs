//! The farm's terms of sale: how they are accepted, and a sample to begin from. The sample is ours and no legal advice: a lawyer of the
//! farm's state reads it before it is used.

crate::words! {
    /// How a customer accepted the farm's terms.
    pub enum AcceptedBy {
        /// With the request on the farm's page.
        Request = "request", "with the request on our page";
        /// On the order's page, by private link.
        Link = "link", "on the order’s page";
        /// On paper.
        Paper = "paper", "on paper";
        /// In person or by phone.
        Person = "person", "in person";
    }
}

/// The longest terms, in characters.
pub const LONGEST: usize = 20_000;

/// The caution that stands beside the sample.
pub const CAUTION: &str = "The sample is no legal advice, and neither is this page. What you may agree on differs from state to state: have your terms read by a \
lawyer before you use them, and ask your state’s meat inspection program about the part on resale.";

/// Words to begin from. Sources of paragraph 9: 21 U.S.C. 623(a), 9 CFR 303.1(a)(2); the rest is common practice, no source.
pub const SAMPLE: &str = "1. What you buy. You buy a share of a live animal: a whole, a half or a quarter. With the reservation you are one of its owners, from before slaughter on. We raise the animal and bring it to the processor.

2. Price. Your price and what it rests on (hanging weight, live weight, or one price for the share) stand on your confirmation and stay the same for this order. Hanging weight is the weight of the dressed carcass on the rail, as the processor reports it. What you carry home weighs less, because bone, fat and trim come off. Every weight named before slaughter is an estimate.

3. Deposit. The deposit holds your share. It is due on the day that stands on your confirmation; if it is not there by then, we ask you once more and may then give the share to somebody else. It is taken off your invoice.

4. If you cancel. Until the deadline for the cut sheet we give the deposit back or move it to the next season, as you like. After that we keep it, unless somebody else takes the share.

5. If an animal is lost. Animals fall ill, die, or are condemned by the inspector. Then we offer you a share of another animal or a later date, or give back all you paid us for it, as you choose. We owe nothing beyond that.

6. Who pays the processor. Slaughter, cutting, wrapping, curing and smoking are not in our price unless your invoice says so. You pay the processor for them when you collect, or us where they stand on your invoice.

7. Cut sheet. You tell us how your share is to be cut by the deadline we name. If nothing comes in time, it gets the standard cut.

8. Pickup and storage. The balance is paid before pickup. You collect on the days and at the place we name, with room enough to keep the meat frozen on the way. Meat that is left longer may cost storage; we tell you the rate before it begins.

9. No resale. Where the processor is custom-exempt, the meat is for you, your household, your nonpaying guests and your employees only. It may not be sold, and every package is marked “Not for Sale” (21 U.S.C. 623; 9 CFR 303.1).

10. Questions. If something is not right, call us first; we want to put it right.";

/// The paragraphs of some terms.
pub fn paragraphs(body: &str) -> Vec<String> {
    body.split("\n\n").map(str::trim).filter(|p| !p.is_empty()).map(str::to_owned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sample_has_all_that_a_farm_must_say_and_fits() {
        assert!(SAMPLE.chars().count() < LONGEST / 4);
        let all = paragraphs(SAMPLE);
        assert_eq!(all.len(), 10);
        for (n, (words, paragraph)) in [
            "share of a live",
            "hanging weight",
            "deposit",
            "cancel",
            "lost",
            "pay the processor",
            "cut sheet",
            "storage",
            "may not be sold",
            "call us",
        ]
        .iter()
        .zip(&all)
        .enumerate()
        {
            assert!(
                paragraph.starts_with(&format!("{}. ", n + 1)) && paragraph.to_lowercase().contains(words),
                "{words}"
            );
        }
    }
}
