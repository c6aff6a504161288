//! Reads `[[host]]` with its processor, memory, page sharing, network, power and backup.

mod memory;

use crate::diagnose::Diagnostic;
use crate::diagnose::ErrorKind;
use crate::diagnose::source::Place;

use super::fields::Fields;
use super::read::Reader;
use super::relation::Named;
use super::tree::Node;
use super::{locate, read_disk};
use crate::lab::keys::Section;
use crate::lab::{Backup, CoreGroup, Cpu, Host, Merging, Mode, Power};
use crate::unit::parse::Dimension;

/// Reads one host; the place is that of its name.
pub(super) fn host<'t>(reader: &mut Reader<'t>, node: &'t Node) -> (Host, Option<Place>) {
    let name = Reader::path_name(node);
    let fields = reader.open(Section::Host, locate::join("host", name), Some(node), None);
    let (name, place) = reader.name(&fields);
    let network = sub(reader, &fields, Section::Network, "network");
    let link = network
        .stands()
        .then(|| reader.number(&network, "link").value);
    let host = Host {
        price: reader.optional(&fields, "price"),
        cpu: cpu(reader, &fields),
        memory: memory::memory(reader, &fields),
        merging: merging(reader, &fields),
        disks: read_disk::pools(reader, &fields),
        link,
        link_prices: reader.prices(&network, "link_prices", Dimension::BitRate),
        power: power(reader, &fields),
        backup: backup(reader, &fields, link),
        name,
    };
    (host, place)
}

/// Opens a table of a host.
fn sub<'t>(reader: &mut Reader<'t>, host: &Fields<'t>, section: Section, name: &str) -> Fields<'t> {
    reader.open(
        section,
        locate::join(&host.path, name),
        host.node(name),
        host.header,
    )
}

fn cpu<'t>(reader: &mut Reader<'t>, host: &Fields<'t>) -> Cpu {
    let fields = sub(reader, host, Section::Cpu, "cpu");
    let path = locate::join(&fields.path, "groups");
    let groups = reader
        .list(&fields, "groups")
        .iter()
        .enumerate()
        .map(|(index, node)| {
            let path = locate::join(&path, &(index + 1).to_string());
            let group = reader.open(Section::Group, path, Some(node), fields.header);
            CoreGroup {
                cores: reader.count(&group, "cores"),
                threads: reader.count(&group, "threads"),
                speed: reader.number(&group, "speed").value,
                smt_gain: reader.number(&group, "smt_gain").value,
            }
        });
    Cpu {
        groups: groups.collect(),
        base_cores: reader.number(&fields, "base_cores").value,
    }
}

fn merging<'t>(reader: &mut Reader<'t>, host: &Fields<'t>) -> Merging {
    let fields = sub(reader, host, Section::Merging, "merging");
    let mode = match reader.word(&fields, "mode") {
        "fixed" => Mode::Fixed,
        "adaptive" => Mode::Adaptive,
        "scan_time" => Mode::ScanTime,
        _ => Mode::Off,
    };
    let sleep = reader.optional(&fields, "sleep");
    if sleep.is_none() {
        reader.note_rule(&fields, "sleep", "");
    }
    let [least, most] = [
        reader.number(&fields, "least"),
        reader.number(&fields, "most"),
    ];
    let (least, most) = match (least.is_given(), most.is_given()) {
        (true, false) => (least.value, most.value.max(least.value)),
        (false, true) => (least.value.min(most.value), most.value),
        _ => {
            let low = Named {
                name: "least",
                number: least,
            };
            (
                reader.at_most(
                    low,
                    Named {
                        name: "most",
                        number: most,
                    },
                ),
                most.value,
            )
        }
    };
    let smart_scan = reader.flag(&fields, "smart_scan");
    let use_zero_pages = reader.flag(&fields, "use_zero_pages");
    let mut number = |name| reader.number(&fields, name).value;
    Merging {
        mode,
        sleep,
        smart_scan,
        use_zero_pages,
        least,
        most,
        pages_per_wake: number("pages_per_wake"),
        tick: number("tick"),
        scan_cost: number("scan_cost"),
        merge_cost: number("merge_cost"),
        users_per_copy: number("users_per_copy"),
        visits: number("visits"),
        zero_share: number("zero_share"),
        threshold: number("threshold"),
        boost: number("boost"),
        decay: number("decay"),
        interval: number("interval"),
        target_pass: number("target_pass"),
    }
}

fn power<'t>(reader: &mut Reader<'t>, host: &Fields<'t>) -> Option<Power> {
    let fields = sub(reader, host, Section::Power, "power");
    if !fields.stands() {
        return None;
    }
    let [idle, busy, extra] = ["idle", "busy", "extra"].map(|name| reader.number(&fields, name));
    let idle = reader.at_most(
        Named {
            name: "idle",
            number: idle,
        },
        Named {
            name: "busy",
            number: busy,
        },
    );
    Some(Power {
        idle,
        busy: busy.value,
        extra: extra.value,
    })
}

fn backup<'t>(reader: &mut Reader<'t>, host: &Fields<'t>, link: Option<f64>) -> Option<Backup> {
    let fields = sub(reader, host, Section::Backup, "backup");
    if !fields.stands() {
        return None;
    }
    let window = reader.number(&fields, "window").value;
    let speed = reader.optional(&fields, "speed");
    if speed.is_none() && link.is_none() {
        let error = Diagnostic::new(
            ErrorKind::UnpairedKey,
            "the backup has a window but nothing that limits its speed",
        )
        .at_any(fields.header, "neither `speed` nor [host.network] is given")
        .hint("add speed = \"110 MB/s\" to [host.backup], or [host.network] with its link");
        reader.report(error);
    }
    Some(Backup { window, speed })
}
