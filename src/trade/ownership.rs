//! What an owner of an animal cut at a custom-exempt plant has to know. It is a reminder, not legal advice: the state's meat
//! inspection program decides.

/// For the customer's confirmation. Sources: 21 U.S.C. 623(a) and 9 CFR 303.1(a)(2) (custom preparation for the owner, the
/// owner's household, nonpaying guests and employees; marked "Not for Sale" until it is delivered), 9 CFR 316.16 and 317.16
/// (the mark on carcasses and packages).
pub const CUSTOM_EXEMPT: &str = "This processor is custom-exempt: it cuts an animal for its owners only. With this order you are \
one of the owners, from before slaughter on. The meat is for you, your household, your nonpaying guests and your employees; it may \
not be sold, and every package is marked “Not for Sale” (21 U.S.C. 623; 9 CFR 303.1 and 316.16). Ask your state’s meat inspection \
program when unsure.";

/// For the packet's cover. The same sources; that every part of an animal is sold before slaughter is what states advise
/// (Minnesota Department of Agriculture), names and addresses of the owners are kept by the plant (9 CFR 303.1(b)(3)).
pub const ON_THE_PACKET: &str = "Custom-exempt: for the owners named here, their households, nonpaying guests and employees only. \
Packages are marked “Not for Sale” (21 U.S.C. 623; 9 CFR 303.1 and 316.16). Ask the state’s meat inspection program when unsure.";
