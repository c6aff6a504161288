//! The speed of the link that the host talks through.

use super::root::Root;
use super::table::{HostTable, toml_value};
use crate::lab::keys::Section;
use crate::unit::format;

const NET: &str = "sys/class/net";

/// A link and what it is called.
struct Link {
    name: String,
    /// Megabits per second.
    speed: f64,
    /// Whether the way out leads over it.
    has_default_route: bool,
}

/// Writes `[host.network]`: the link that the way out leads over, else the fastest that is up.
pub(super) fn read(root: &Root, table: &mut HostTable) {
    let (mut links, unused) = links(root);
    links.sort_by(|one, other| {
        let by_speed = other.speed.total_cmp(&one.speed);
        other
            .has_default_route
            .cmp(&one.has_default_route)
            .then(by_speed)
    });
    let Some((first, rest)) = links.split_first() else {
        let why = match unused.as_slice() {
            [] => "no link found".to_owned(),
            _ => unused.join(", "),
        };
        return table.note(format!(
            "network: not read, {why}; add [host.network] with its link by hand"
        ));
    };
    table.open(Section::Network);
    let suffix = if first.has_default_route {
        ", the way out"
    } else {
        ""
    };
    let origin = format!("/{NET}/{}/speed{suffix}", first.name);
    table.put("link", first.speed * 1e6, origin);
    let others: Vec<String> = rest
        .iter()
        .map(|link| format!("{} at {}", link.name, format::bit_rate(link.speed * 1e6)))
        .chain(unused)
        .collect();
    if !others.is_empty() {
        table.note(format!("not counted: {}", others.join(", ")));
    }
}

/// The links that are up and show a speed, and why others are not among them.
fn links(root: &Root) -> (Vec<Link>, Vec<String>) {
    let interface = default_interface(root);
    let mut links = Vec::new();
    let mut unused = Vec::new();
    for name in root.names(NET) {
        let has = |file: &str| root.exists(&format!("{NET}/{name}/{file}"));
        // Bridges and the like pass on what comes over the links beneath; members of a bond count within it.
        if !has("bonding") && (!has("device") || has("master/bonding")) {
            continue;
        }
        let state = root.text(&format!("{NET}/{name}/operstate"));
        if state.as_deref() == Ok("down") {
            unused.push(format!("{name} is down"));
            continue;
        }
        let speed = root.number(&format!("{NET}/{name}/speed")).ok();
        let is_allowed = |speed: &f64| toml_value(Section::Network, "link", speed * 1e6).is_some();
        let Some(speed) = speed.filter(is_allowed) else {
            unused.push(format!("{name} tells no speed"));
            continue;
        };
        let has_default_route = interface.as_ref().is_some_and(|interface| {
            *interface == name || root.exists(&format!("{NET}/{interface}/brif/{name}"))
        });
        links.push(Link {
            name,
            speed,
            has_default_route,
        });
    }
    (links, unused)
}

/// The interface of the default route.
fn default_interface(root: &Root) -> Option<String> {
    let text = root.text("proc/net/route").ok()?;
    let mut rows = text
        .lines()
        .skip(1)
        .map(|line| line.split_whitespace().collect::<Vec<_>>());
    rows.find(|row| row.get(1) == Some(&"00000000"))
        .and_then(|row| Some((*row.first()?).to_owned()))
}
