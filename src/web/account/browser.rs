//! What a browser calls itself, in two words a person knows: "Firefox on Android".

/// The name of a `User-Agent`; "a browser" when nothing in it is known. Never more than 40 characters.
pub fn short(agent: &str) -> String {
    // The order matters: most browsers name others as well.
    const BROWSERS: [(&str, &str); 6] = [
        ("Edg", "Edge"),
        ("OPR/", "Opera"),
        ("Firefox/", "Firefox"),
        ("Chrome/", "Chrome"),
        ("CriOS/", "Chrome"),
        ("Safari/", "Safari"),
    ];
    const SYSTEMS: [(&str, &str); 6] = [
        ("Android", "Android"),
        ("iPhone", "an iPhone"),
        ("iPad", "an iPad"),
        ("Windows", "Windows"),
        ("Mac OS", "a Mac"),
        ("Linux", "Linux"),
    ];
    let known = |all: &[(&str, &'static str)]| all.iter().find(|(mark, _)| agent.contains(mark)).map(|(_, name)| *name);
    let browser = known(&BROWSERS).unwrap_or("A browser");
    known(&SYSTEMS).map_or(browser.to_string(), |system| format!("{browser} on {system}"))
}

#[cfg(test)]
mod tests {
    use super::short;

    #[test]
    fn browsers_are_called_by_the_names_people_know() {
        for (agent, name) in [
            ("Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0", "Firefox on Android"),
            (
                "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36",
                "Chrome on Linux",
            ),
            (
                "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0 Safari/537.36 Edg/140.0",
                "Edge on Windows",
            ),
            (
                "Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.0 Mobile Safari/604.1",
                "Safari on an iPhone",
            ),
            ("", "A browser"),
            ("curl/8.5.0", "A browser"),
        ] {
            assert_eq!(short(agent), name, "{agent}");
        }
    }
}
