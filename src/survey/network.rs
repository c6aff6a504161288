//! The speed of the link that the host talks through.

use super::root::Root;
use super::table::{HostTable, written};
use crate::lab::keys::Section;
use crate::unit::format;

const NET: &str = "sys/class/net";

/// A link and what it is called.
struct Link {
    name: String,
    /// Megabits per second.
    speed: f64,
    /// Whether the way out leads over it.
    leads_out: bool,
}

/// Writes `[host.network]`: the link that the way out leads over, else the fastest that is up.
pub(super) fn read(root: &Root, table: &mut HostTable) {
    let (mut links, silent) = links(root);
    links.sort_by(|one, other| {
        let by_speed = other.speed.total_cmp(&one.speed);
        other.leads_out.cmp(&one.leads_out).then(by_speed)
    });
    let Some((first, rest)) = links.split_first() else {
        let why = match silent.as_slice() {
            [] => "no link found".to_owned(),
            _ => silent.join(", "),
        };
        return table.note(format!(
            "network: not read, {why}; add [host.network] with its link by hand"
        ));
    };
    table.open(Section::Network);
    let way_out = if first.leads_out { ", the way out" } else { "" };
    let origin = format!("/{NET}/{}/speed{way_out}", first.name);
    table.put("link", first.speed * 1e6, origin);
    let others: Vec<String> = rest
        .iter()
        .map(|link| format!("{} at {}", link.name, format::bit_rate(link.speed * 1e6)))
        .chain(silent)
        .collect();
    if !others.is_empty() {
        table.note(format!("not counted: {}", others.join(", ")));
    }
}

/// The links that are up and show a speed, and why others are not among them.
fn links(root: &Root) -> (Vec<Link>, Vec<String>) {
    let out = way_out(root);
    let mut links = Vec::new();
    let mut silent = Vec::new();
    for name in root.names(NET) {
        let has = |file: &str| root.exists(&format!("{NET}/{name}/{file}"));
        // Bridges and the like pass on what comes over the links beneath; members of a bond count within it.
        if !has("bonding") && (!has("device") || has("master/bonding")) {
            continue;
        }
        let state = root.text(&format!("{NET}/{name}/operstate"));
        if state.as_deref() == Ok("down") {
            silent.push(format!("{name} is down"));
            continue;
        }
        let speed = root.number(&format!("{NET}/{name}/speed")).ok();
        let can_be = |speed: &f64| written(Section::Network, "link", speed * 1e6).is_some();
        let Some(speed) = speed.filter(can_be) else {
            silent.push(format!("{name} tells no speed"));
            continue;
        };
        let leads_out = out
            .as_ref()
            .is_some_and(|out| *out == name || root.exists(&format!("{NET}/{out}/brif/{name}")));
        links.push(Link {
            name,
            speed,
            leads_out,
        });
    }
    (links, silent)
}

/// The interface of the default route.
fn way_out(root: &Root) -> Option<String> {
    let text = root.text("proc/net/route").ok()?;
    let mut rows = text
        .lines()
        .skip(1)
        .map(|line| line.split_whitespace().collect::<Vec<_>>());
    rows.find(|row| row.get(1) == Some(&"00000000"))
        .and_then(|row| Some((*row.first()?).to_owned()))
}
