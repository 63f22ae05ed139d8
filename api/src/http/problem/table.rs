//! The list of all problems for people: `openapi/problems.md`.

use super::CODES;

/// The table, in Markdown.
pub fn table() -> String {
    let mut text = String::from(
        "# Problems\n\nEvery error that plugwell answers with, made of the code by `plugwell openapi --problems`. \
         The `type` of a problem (RFC 9457) is `urn:plugwell:problem:` and the word.\n\n\
         What is no HTTP comes to no handler: a head that cannot be read is answered by a bare 400, one that is \
         too large by a bare 431, one that does not arrive within seconds by a bare 408, each without a body; the \
         connection is closed.\n\n\
         | status | word | title | what brings it about | what to do |\n|---|---|---|---|---|\n",
    );
    for code in CODES {
        let cells = [code.title, code.cause, code.cure].map(|cell| cell.replace('|', "\\|"));
        text.push_str(&format!(
            "| {} | `{}` | {} |\n",
            code.status,
            code.word,
            cells.join(" | ")
        ));
    }
    text
}
