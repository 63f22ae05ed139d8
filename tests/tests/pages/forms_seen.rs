//! The forms of a page, read as a browser reads them.

/// A field of a form.
#[derive(Debug, Clone)]
pub struct FieldSeen {
    pub name: String,
    /// What stands in it.
    pub value: String,
    /// Whether somebody types into it.
    pub is_typed: bool,
    /// What it can be set to, where it is a list.
    pub choices: Vec<String>,
}

/// A form.
#[derive(Debug, Clone)]
pub struct FormSeen {
    pub id: String,
    /// Where it is sent to.
    pub path: String,
    pub is_posted: bool,
    /// Whether a file goes along.
    pub is_upload: bool,
    pub fields: Vec<FieldSeen>,
}

/// The value of an attribute in a tag.
fn attribute(tag: &str, name: &str) -> Option<String> {
    let (_, rest) = tag.split_once(&format!(" {name}=\""))?;
    let value = rest.split('"').next()?;
    Some(plain(value))
}

/// A text as it was before it was escaped.
pub fn plain(text: &str) -> String {
    let signs = [
        ("&#34;", "\""),
        ("&#39;", "'"),
        ("&#60;", "<"),
        ("&#62;", ">"),
        ("&#38;", "&"),
    ];
    signs.iter().fold(text.to_owned(), |text, (code, sign)| {
        text.replace(code, sign)
    })
}

/// The forms of a page, in their order.
pub fn forms(html: &str) -> Vec<FormSeen> {
    html.split("<form").skip(1).map(form).collect()
}

fn form(text: &str) -> FormSeen {
    let (tag, rest) = text.split_once('>').unwrap_or((text, ""));
    let body = rest.split("</form>").next().unwrap_or_default();
    let own = |name| attribute(tag, name).unwrap_or_default();
    let mut fields: Vec<FieldSeen> = Vec::new();
    for piece in body.split('<').skip(1) {
        let (tag, text) = piece.split_once('>').unwrap_or((piece, ""));
        let kind = attribute(tag, "type").unwrap_or_default();
        let value = attribute(tag, "value").unwrap_or_default();
        let field = |value: String, is_typed| FieldSeen {
            name: attribute(tag, "name").unwrap_or_default(),
            value,
            is_typed,
            choices: Vec::new(),
        };
        match tag.split_whitespace().next() {
            // What is not ticked is not sent.
            Some("input") if kind == "checkbox" && !tag.contains(" checked") => {}
            Some("input") if kind != "radio" => {
                let is_typed = matches!(kind.as_str(), "" | "text" | "date");
                fields.push(field(value, is_typed));
            }
            Some("textarea") => fields.push(field(plain(text), true)),
            Some("select") => fields.push(field(String::new(), false)),
            Some("option") => {
                // Those of a list of proposals belong to no field.
                let Some(list) = fields.last_mut().filter(|list| !list.is_typed) else {
                    continue;
                };
                if tag.ends_with(" selected") {
                    list.value.clone_from(&value);
                }
                list.choices.push(value);
            }
            _ => {}
        }
    }
    fields.retain(|field| !field.name.is_empty());
    FormSeen {
        id: own("id"),
        path: own("action"),
        is_posted: own("method") == "post",
        is_upload: !own("enctype").is_empty(),
        fields,
    }
}
