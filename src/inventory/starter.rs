//! The commented lab that a new user starts from: one host and ready guest profiles.
//!
//! The parts are TOML files of their own, so that they can be read and edited as what they are.

/// The part before the guests: how to read the file, lab, policy, host and images.
const HEAD: &str = include_str!("starter/head.toml");

/// Kinds of guests that are ready to use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Profile {
    /// Web, mail, name service, a small application.
    Server,
    /// No kernel of its own.
    Container,
    /// Zeroes its memory when it starts.
    Desktop,
    /// A small database or a recorder.
    Database,
    /// Logs, metrics, a network controller.
    Metrics,
    /// A control node of an orchestrator.
    Control,
}

impl Profile {
    /// All profiles, in the order of the file.
    pub const ALL: [Profile; 6] = [
        Profile::Server,
        Profile::Container,
        Profile::Desktop,
        Profile::Database,
        Profile::Metrics,
        Profile::Control,
    ];

    /// Its name in the file and on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Profile::Server => "server",
            Profile::Container => "container",
            Profile::Desktop => "desktop",
            Profile::Database => "database",
            Profile::Metrics => "metrics",
            Profile::Control => "control",
        }
    }

    /// What runs in it.
    pub fn meaning(self) -> &'static str {
        match self {
            Profile::Server => "A plain server",
            Profile::Container => "A container",
            Profile::Desktop => "A desktop that zeroes its memory",
            Profile::Database => "A small database",
            Profile::Metrics => "A server for logs and metrics",
            Profile::Control => "A control node of an orchestrator",
        }
    }

    /// Its part of the file.
    fn text(self) -> &'static str {
        match self {
            Profile::Server => include_str!("starter/server.toml"),
            Profile::Container => include_str!("starter/container.toml"),
            Profile::Desktop => include_str!("starter/desktop.toml"),
            Profile::Database => include_str!("starter/database.toml"),
            Profile::Metrics => include_str!("starter/metrics.toml"),
            Profile::Control => include_str!("starter/control.toml"),
        }
    }
}

/// The starter with these profiles, each once and in the order of [`Profile::ALL`]; all of them where none is named.
///
/// # Example
/// ```
/// use berthage::inventory::starter::{Profile, starter};
/// let text = starter(&[Profile::Server]);
/// assert!(text.contains("name = \"server\"") && !text.contains("name = \"database\""));
/// ```
pub fn starter(wanted: &[Profile]) -> String {
    let kept = |profile: &Profile| wanted.is_empty() || wanted.contains(profile);
    let parts = Profile::ALL.into_iter().filter(kept).map(Profile::text);
    std::iter::once(HEAD).chain(parts).collect()
}

/// The starter with another host table, for example one that was read from the running host.
///
/// # Example
/// ```
/// use berthage::inventory::starter::{Profile, starter_on};
/// let host = "[[host]]\nname = \"shelf-a\"\ncpu.groups = [{ cores = 4 }]\nmemory.modules = [\"16 GiB\"]\n";
/// let text = starter_on(host, &[Profile::Server]);
/// assert_eq!(berthage::inventory::load_text("lab.toml", &text, &[]).expect("a valid lab").hosts[0].name, "shelf-a");
/// ```
pub fn starter_on(host: &str, wanted: &[Profile]) -> String {
    let text = starter(wanted);
    // The starter has one host, and its images follow it; both begin a line.
    let place = |header: &str| {
        text.find(&format!("\n{header}"))
            .map_or(text.len(), |at| at + 1)
    };
    let (from, to) = (place("[[host]]"), place("[[image]]"));
    format!(
        "{}{}\n{}",
        &text[..from],
        host.trim_end().to_owned() + "\n",
        &text[to..]
    )
}

#[cfg(test)]
mod tests {
    use super::{Profile, starter};
    use crate::inventory::load_text;

    /// What a comment may give as the origin of a value.
    const ORIGINS: [&str; 4] = ["reported by owners", "assumption", "measured", "yours"];

    #[test]
    fn every_profile_alone_and_all_together_are_valid() {
        let alone = Profile::ALL.map(|profile| vec![profile]);
        for wanted in alone.into_iter().chain([Vec::new()]) {
            let text = starter(&wanted);
            let lab = load_text("lab.toml", &text, &[])
                .unwrap_or_else(|errors| panic!("{wanted:?}: {}", errors.render(false, 120)));
            let names: Vec<&str> = lab.guests.iter().map(|guest| guest.name.as_str()).collect();
            let expected = if wanted.is_empty() {
                Profile::ALL.map(Profile::name).to_vec()
            } else {
                vec![wanted[0].name()]
            };
            assert_eq!(names, expected);
        }
    }

    #[test]
    fn every_value_says_where_it_comes_from() {
        let text = starter(&[]);
        let mut above = String::new();
        for line in text.lines() {
            let is_comment = line.starts_with('#');
            if is_comment {
                above.push_str(&line.to_lowercase());
                continue;
            }
            if line.is_empty() || line.starts_with('[') {
                above.clear();
                continue;
            }
            let beside = line.split_once('#').map_or("", |(_, comment)| comment);
            let key = line.split(['=', ' ']).next().unwrap_or("");
            // Names and references are not values that could come from somewhere.
            let named = matches!(key, "name" | "image" | "kind");
            let said = |words: &str| {
                ORIGINS
                    .iter()
                    .any(|origin| words.to_lowercase().contains(origin))
            };
            assert!(named || said(beside) || said(&above), "{line}");
            if !beside.is_empty() {
                above.clear();
            }
        }
    }

    #[test]
    fn lines_stay_short_and_name_no_document() {
        for line in starter(&[]).lines() {
            assert!(line.chars().count() <= 120, "{line}");
            assert!(!line.contains(".md"), "{line}");
        }
    }
}
