//! What a helper may open. A farmer may everything; a helper does the work in the barn and with the customers, and sees no
//! money and changes no settings. What is not listed here is the farmer's: a new page is closed to helpers until somebody
//! opens it, and `tests/it/permission.rs` asks every route as everybody.

/// Addresses a helper may open and send forms to; `*` stands for one piece of an address.
const HELPER: &[&str] = &[
    "/",
    "/search",
    "/sign-out",
    "/account",
    "/account/sign-ins/end",
    "/account/password",
    "/account/second-factor",
    "/account/second-factor/off",
    "/account/second-factor/codes",
    "/orders",
    "/orders/*",
    "/orders/*/place",
    "/orders/*/lock",
    "/orders/*/wishes",
    "/orders/*/cut-sheet",
    "/orders/*/came-home",
    "/orders/*/pickup",
    "/orders/*/pickup/answered",
    "/orders/*/collected",
    "/orders/*/collected/undo",
    "/orders/*/ready/undo",
    "/customers",
    "/customers/new",
    "/customers/suggest",
    "/customers/*",
    "/customers/*/edit",
    "/animals",
    "/animals/new",
    "/animals/dates",
    "/animals/yields",
    "/animals/*",
    "/animals/*/give",
    "/animals/*/change",
    "/animals/*/weight",
    "/animals/*/weight/*/take-back",
    "/animals/*/treatment",
    "/animals/*/treatment/*/take-back",
    "/animals/*/date",
    "/animals/*/lost",
    "/animals/*/found",
    "/animals/*/tell/*",
    "/animals/*/sides/*",
    "/dates",
    "/dates/*",
    "/dates/*/head",
    "/dates/*/shares",
    "/dates/*/came-home",
    "/dates/*/packet",
    "/dates/*/packet/send",
    "/dates/*/sheets",
    "/dates/*/sheets/*/remind",
    "/dates/*/sheets/*/standard",
    "/dates/*/tell",
    "/dates/*/weigh-in",
    "/dates/*/weigh-in/file",
    "/dates/*/weigh-in/file/*",
    "/dates/*/weigh-in/file/*/look",
    "/dates/*/plant",
    "/dates/*/plant/take",
    "/dates/*/plant/*/refuse",
    "/dates/*/pickup",
    "/dates/*/ready",
    "/dates/*/windows/new",
    "/windows/*",
    "/windows/*/call-off",
    "/sheet-requests/*",
    "/sheet-requests/*/take",
    "/sheet-requests/*/refuse",
    "/packets/*",
];

/// Below these, a piece that would fit `*` is a page of the farmer's.
const NOT_HELPER: &[&str] = &["/orders/new", "/dates/new", "/windows/new"];

/// Whether a helper may open this address; a query behind it does not matter.
pub fn helper_may(address: &str) -> bool {
    let path = address.split(['?', '#']).next().unwrap_or_default();
    !NOT_HELPER.contains(&path) && HELPER.iter().any(|open| fits(open, path))
}

fn fits(open: &str, path: &str) -> bool {
    let (open, path): (Vec<_>, Vec<_>) = (open.split('/').collect(), path.split('/').collect());
    open.len() == path.len() && open.iter().zip(&path).all(|(o, p)| (*o == "*" && !p.is_empty()) || o == p)
}

#[cfg(test)]
mod tests {
    use super::helper_may;

    #[test]
    fn a_helper_is_let_in_by_the_list_alone() {
        for open in ["/", "/orders", "/orders/12", "/orders?standing=waiting", "/dates/3/weigh-in", "/packets/4.pdf"] {
            assert!(helper_may(open), "{open}");
        }
        for closed in [
            "/orders/new",
            "/orders/new?customer=3",
            "/orders/12/deposit",
            "/orders/12/",
            "/orders//place",
            "/dates/3/invoices",
            "/money",
            "/settings",
            "/settings/accounts",
            "/animals/3/correct-weight",
            "/no-such-page",
            "",
        ] {
            assert!(!helper_may(closed), "{closed}");
        }
    }
}
