//! An answer of the service, and the forms in it, read as a browser would.

use actix_web::http::header::HeaderMap;

/// What the service answered.
pub(crate) struct Page {
    pub(crate) url: String,
    pub(crate) status: u16,
    pub(crate) headers: HeaderMap,
    pub(crate) bytes: Vec<u8>,
}

/// One form of a page: where it goes, and what its fields hold.
#[derive(Debug, Clone)]
pub(crate) struct Form {
    pub(crate) action: String,
    pub(crate) post: bool,
    pub(crate) fields: Vec<(String, String)>,
    /// The names of those into which anything can be typed.
    pub(crate) typed: Vec<String>,
}

impl Page {
    pub(crate) fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |v| v.to_str().unwrap())
    }
    pub(crate) fn location(&self) -> &str {
        self.header("location")
    }
    pub(crate) fn text(&self) -> &str {
        std::str::from_utf8(&self.bytes).expect("the answer is text")
    }
    #[track_caller]
    pub(crate) fn expect(self, status: u16) -> Self {
        assert_eq!(self.status, status, "{} answered {} {}\n{}", self.url, self.status, self.location(), self.shown());
        self
    }
    #[track_caller]
    pub(crate) fn says(&self, words: &str) -> &Self {
        assert!(self.text().contains(words), "{} does not say “{words}”\n{}", self.url, self.text());
        self
    }
    #[track_caller]
    pub(crate) fn says_not(&self, words: &str) -> &Self {
        assert!(!self.text().contains(words), "{} says “{words}”\n{}", self.url, self.text());
        self
    }
    fn shown(&self) -> String {
        String::from_utf8_lossy(&self.bytes).chars().take(6_000).collect()
    }
    /// Every form of the page in order. Good for our own pages only: it trusts their quotation marks.
    pub(crate) fn forms(&self) -> Vec<Form> {
        let html = self.text();
        html.split("<form").skip(1).map(|rest| one_form(rest.split("</form>").next().unwrap(), &self.url)).collect()
    }
    /// The addresses this page links to.
    pub(crate) fn links(&self) -> Vec<String> {
        self.text().split(" href=\"").skip(1).map(|r| unescape(r.split('"').next().unwrap())).collect()
    }
}

/// Stands in a select until its first option is met; no page has it.
const UNCHOSEN: &str = "\u{0}";

fn one_form(html: &str, page: &str) -> Form {
    let (tag, body) = html.split_once('>').unwrap();
    let (mut fields, mut typed) = (Vec::new(), Vec::new());
    for piece in body.split('<').skip(1) {
        let (tag, after) = piece.split_once('>').unwrap_or((piece, ""));
        let name = attribute(tag, "name");
        let kind = attribute(tag, "type").unwrap_or_else(|| "text".into());
        match tag.split([' ', '\n']).next().unwrap() {
            "input" => match (name, kind.as_str()) {
                (Some(name), "checkbox" | "radio") if has(tag, "checked") => {
                    fields.push((name, attribute(tag, "value").unwrap_or_else(|| "on".into())));
                }
                (Some(_), "checkbox" | "radio") | (None, _) => {}
                (Some(name), kind) => {
                    if kind != "hidden" {
                        typed.push(name.clone());
                    }
                    fields.push((name, attribute(tag, "value").unwrap_or_default()));
                }
            },
            "textarea" => {
                typed.extend(name.clone());
                fields.extend(name.map(|n| (n, unescape(after.strip_prefix('\n').unwrap_or(after)))));
            }
            // A browser sends the first option unless another one is selected, also when the first is empty.
            "select" => fields.extend(name.map(|n| (n, UNCHOSEN.to_string()))),
            "option" => {
                let (value, first) = (attribute(tag, "value").unwrap_or_default(), fields.last_mut());
                if let Some(field) = first.filter(|f| has(tag, "selected") || f.1 == UNCHOSEN) {
                    field.1 = value;
                }
            }
            _ => {}
        }
    }
    for (_, value) in fields.iter_mut().filter(|(_, v)| v == UNCHOSEN) {
        value.clear();
    }
    Form {
        action: attribute(tag, "action").unwrap_or_else(|| page.split('?').next().unwrap().to_string()),
        post: attribute(tag, "method").is_some_and(|m| m == "post"),
        fields,
        typed,
    }
}

fn attribute(tag: &str, name: &str) -> Option<String> {
    let (_, rest) = tag.split_once(&format!(" {name}=\""))?;
    Some(unescape(rest.split('"').next().unwrap()))
}

fn has(tag: &str, word: &str) -> bool {
    tag.split_whitespace().any(|w| w == word)
}

fn unescape(text: &str) -> String {
    text.replace("&#60;", "<")
        .replace("&#62;", ">")
        .replace("&#34;", "\"")
        .replace("&#39;", "'")
        .replace("&#38;", "&")
        .replace("&amp;", "&")
}

impl Form {
    /// The form's body with some fields filled in; a field named twice replaces what stood there twice.
    pub(crate) fn body(&self, filled: &[(&str, &str)]) -> String {
        let mut body = form_urlencoded::Serializer::new(String::new());
        for (name, value) in self.fields.iter().filter(|(n, _)| !filled.iter().any(|(f, _)| f == n)) {
            body.append_pair(name, value);
        }
        for (name, value) in filled {
            body.append_pair(name, value);
        }
        body.finish()
    }
    pub(crate) fn value(&self, name: &str) -> &str {
        self.fields.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v)
    }
}
