//! Which values of a policy belong together.

use super::{ENTRIES, Entry, Policy};

/// Values that belong together.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// What they are about.
    pub title: &'static str,
    /// The values.
    pub entries: Vec<&'static Entry>,
}

impl Policy {
    /// All values, grouped and in the order of the document that a shop begins with: there a comment
    /// after an empty line begins a group.
    pub fn groups() -> Vec<Group> {
        let (mut groups, mut before) = (Vec::<Group>::new(), "?");
        for line in Self::EMBEDDED.lines() {
            match line.strip_prefix("# ") {
                Some(title) if before.is_empty() => groups.push(Group {
                    title: title.trim_end_matches('.'),
                    entries: Vec::new(),
                }),
                _ => {
                    let key = line.split(" = ").next().unwrap_or_default();
                    let entry = ENTRIES.iter().find(|entry| entry.key == key);
                    if let Some(group) = groups.last_mut() {
                        group.entries.extend(entry);
                    }
                }
            }
            before = line;
        }
        groups
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_value_stands_in_one_group() {
        let groups = Policy::groups();
        assert_eq!(groups[0].title, "What fits");
        let grouped: Vec<&str> = groups
            .iter()
            .flat_map(|group| group.entries.iter().map(|entry| entry.key))
            .collect();
        let all: Vec<&str> = ENTRIES.iter().map(|entry| entry.key).collect();
        assert_eq!(grouped, all);
        assert!(groups.iter().all(|group| !group.entries.is_empty()));
    }
}
