//! The speed of the link that the host talks through.

use super::root::Root;
use super::table::{HostTable, written};
use crate::inventory::keys::Section;
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
    let out = way_out(root);
    let mut links = Vec::new();
    let mut silent = Vec::new();
    for name in root.names(NET) {
        let folder = format!("{NET}/{name}");
        let is_bond = root.exists(&format!("{folder}/bonding"));
        // Bridges and the like pass on what comes over the links beneath; members of a bond count within it.
        if !is_bond
            && (!root.exists(&format!("{folder}/device"))
                || root.exists(&format!("{folder}/master/bonding")))
        {
            continue;
        }
        let is_down = root
            .text(&format!("{folder}/operstate"))
            .is_ok_and(|state| state == "down");
        match root.number(&format!("{folder}/speed")) {
            Ok(speed) if written(Section::Network, "link", speed * 1e6).is_some() && !is_down => {
                let over = out.as_deref().is_some_and(|out| {
                    out == name || root.exists(&format!("{NET}/{out}/brif/{name}"))
                });
                links.push(Link {
                    name,
                    speed,
                    leads_out: over,
                });
            }
            Ok(_) | Err(_) if is_down => silent.push(format!("{name} is down")),
            Ok(_) | Err(_) => silent.push(format!("{name} tells no speed")),
        }
    }
    links.sort_by(|one, other| {
        (other.leads_out, other.speed)
            .partial_cmp(&(one.leads_out, one.speed))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let Some((first, rest)) = links.split_first() else {
        let why = if silent.is_empty() {
            "no link found".to_owned()
        } else {
            silent.join(", ")
        };
        table.note(format!(
            "network: not read, {why}; add [host.network] with its link by hand"
        ));
        return;
    };
    table.open(Section::Network);
    let origin = format!(
        "/{NET}/{}/speed{}",
        first.name,
        if first.leads_out { ", the way out" } else { "" }
    );
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
