//! The words of a bill of sale for a share of a live animal. They are ours and no legal advice: somebody who knows the law of the farm's
//! state reads them before they are used.

/// The longest words, in characters.
pub const LONGEST: usize = 8_000;

/// The caution that stands beside the form and the words.
pub const CAUTION: &str = "This is no legal advice. Whether a bill of sale is asked for, and what must stand in it, differs from state to \
state: have it read against your state’s law by a lawyer, and ask your state’s meat inspection program what a custom-exempt processor needs.";

/// Words to begin from. Paragraph 4: 21 U.S.C. 623(a), 9 CFR 303.1(a)(2) and 316.16; that the owner buys a live animal before slaughter is
/// what states say of custom-exempt processing (Minnesota Department of Agriculture); the rest is common practice, no source.
pub const SAMPLE: &str = "1. Ownership. With this bill the seller sells and the buyer buys the share of the live animal named above. From its date on, \
before slaughter, the buyer is an owner of the animal in that share.

2. The seller’s word. The seller owns the animal, free of claims of others, and may sell it. No drug withdrawal period of it ends after its day \
of slaughter.

3. Processing. The buyer asks the seller to keep the animal until then and to bring it to the processor, where it is slaughtered, cut and wrapped \
for its owners as they say.

4. Own use. Where the processor is custom-exempt, the meat is for the buyer, the buyer’s household, nonpaying guests and employees. It may not be \
sold, and every package is marked “Not for Sale” (21 U.S.C. 623; 9 CFR 303.1 and 316.16).

5. Loss. If the animal dies or is condemned before it is hung, what the seller’s terms say about it holds; without terms the seller gives back what was \
paid for the share.";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sample_fits_and_says_what_makes_it_a_sale_of_a_live_animal() {
        assert!(SAMPLE.chars().count() < LONGEST / 2);
        for words in ["live animal", "before slaughter", "withdrawal period", "may not be sold", "21 U.S.C. 623"] {
            assert!(SAMPLE.split_whitespace().collect::<Vec<_>>().join(" ").contains(words), "{words}");
        }
        for words in ["lawyer", "state’s meat inspection program", "no legal advice"] {
            assert!(CAUTION.contains(words), "{words}");
        }
    }
}
