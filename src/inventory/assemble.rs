//! Puts the lab together from its tables and checks what a single table cannot show.

use std::collections::HashMap;

use crate::diagnose::source::Place;
use crate::lab::draft::Given;
use crate::lab::keys::Section;
use crate::lab::table::{SectionTable, Value as Field};
use crate::lab::{Cpu, Guest, Host, Image, Lab, LabInfo, Network, Pool, Uncertain};

use super::check::{Checked, Checker, join};
use super::consistency;
use super::fields::Fields;
use super::lists::{named_tables, table_path};
use super::periods;
use super::problem::keys;
use super::problem::values::LONGEST_LIST;
use super::tree::{Node, Table, Value};

/// Checks all values; errors stay with the checker.
pub(super) fn lab<'t>(checker: &mut Checker<'t>, values: &'t Table) -> Lab {
    let about: LabInfo = checker
        .table("lab".to_owned(), values.node("lab"), None)
        .table;
    let policy = checker.table("policy".to_owned(), values.node("policy"), None);
    let policy = checker.keep(None, policy, |lab, policy| lab.policy = policy);
    let lists = ["host", "image", "guest"].map(|name| values.list(name));
    let periods = periods::all(checker, values.list("period"));
    let hosts = named_tables(checker, lists[0], "hosts", host);
    let images = named_tables(checker, lists[1], "images", image);
    let index: HashMap<&str, usize> = images
        .iter()
        .enumerate()
        .rev()
        .map(|(index, image)| (image.name.as_str(), index))
        .collect();
    let guests = named_tables(checker, lists[2], "guests", |checker, node, at| {
        guest(checker, node, at, &index)
    });
    if !checker.is_full() {
        let image_disks = images.iter().map(|image| &image.disk);
        let guest_disks = guests.iter().map(|guest| &guest.disk);
        for (node, disk) in
            (lists[1].iter().zip(image_disks)).chain(lists[2].iter().zip(guest_disks))
        {
            if let Some((place, pool)) = place(node, "disk").zip(disk.as_ref()) {
                check_pool(checker, &hosts, place, pool);
            }
        }
        for (list, what) in [(lists[0], "host"), (lists[2], "guest")] {
            if list.is_empty() {
                checker.report(keys::none_given(what));
            }
        }
    }
    let by_path = |mut all: Vec<Uncertain>| {
        all.sort_by(|one, other| one.path.cmp(&other.path));
        all
    };
    Lab {
        name: about.name,
        currency: about.currency,
        tariff: about.tariff,
        years: about.years,
        policy,
        hosts,
        images,
        guests,
        periods,
        origins: std::mem::take(&mut checker.origins).into_iter().collect(),
        uncertain: by_path(std::mem::take(&mut checker.uncertain)),
        guessed: by_path(std::mem::take(&mut checker.guessed)),
        drafts: std::mem::take(&mut checker.drafts),
    }
}

/// The place of the value of a key.
fn place(node: &Node, name: &str) -> Option<Place> {
    node.table()?.node(name).map(|node| node.place)
}

fn host<'t>(checker: &mut Checker<'t>, node: &'t Node, at: usize) -> Host {
    let checked = checker.table(table_path("host", node), Some(node), None);
    let (fields, mut host): (_, Host) = (checked.fields, checked.table);
    let own = Some(at);
    if let Some(network) = optional_table::<Network>(checker, &fields, "network") {
        let put = |lab: &mut Lab, network: Network| lab.hosts[0].link = Some(network.link);
        let network = checker.keep(own, network, put);
        host.link = Some(network.link);
        host.link_prices = network.link_prices;
    }
    host.cpu = cpu(checker, &fields, own);
    let memory = table_or_defaults(checker, &fields, "memory");
    consistency::memory(checker, &memory);
    host.memory = checker.keep(own, memory, |lab, memory| lab.hosts[0].memory = memory);
    let merging = table_or_defaults(checker, &fields, "merging");
    host.merging = checker.keep(own, merging, |lab, merging| lab.hosts[0].merging = merging);
    host.disks = pools(checker, &fields, at);
    if let Some(power) = optional_table(checker, &fields, "power") {
        let put = |lab: &mut Lab, power| lab.hosts[0].power = Some(power);
        host.power = Some(checker.keep(own, power, put));
    }
    if let Some(backup) = optional_table(checker, &fields, "backup") {
        consistency::backup(checker, &backup, host.link);
        let put = |lab: &mut Lab, backup| lab.hosts[0].backup = Some(backup);
        host.backup = Some(checker.keep(own, backup, put));
    }
    host
}

/// A table of a host, which has defaults if it is left out.
fn table_or_defaults<'t, T: SectionTable>(
    checker: &mut Checker<'t>,
    host: &Fields<'t>,
    name: &str,
) -> Checked<'t, T> {
    checker.table(join(&host.path, name), host.node(name), host.header)
}

/// A table of a host, without which something is not considered.
fn optional_table<'t, T: SectionTable>(
    checker: &mut Checker<'t>,
    host: &Fields<'t>,
    name: &str,
) -> Option<Checked<'t, T>> {
    let node = host.node(name)?;
    if node.table().is_none() {
        checker.open_table(T::SECTION, join(&host.path, name), Some(node), host.header);
        return None;
    }
    Some(table_or_defaults(checker, host, name))
}

fn cpu<'t>(checker: &mut Checker<'t>, host: &Fields<'t>, own: Option<usize>) -> Cpu {
    let mut checked = table_or_defaults::<Cpu>(checker, host, "cpu");
    let fields = &checked.fields;
    let given = Section::Cpu.key("groups").zip(fields.node("groups"));
    let path = join(&fields.path, "groups");
    if let Some((key, node)) = given {
        checker.record_given(fields, key.name, node);
        let list = checker.list(checker.key_value(key, node));
        for (index, node) in list.iter().enumerate() {
            let path = join(&path, &(index + 1).to_string());
            let group = checker.table(path, Some(node), fields.header);
            let put = move |lab: &mut Lab, group| lab.hosts[0].cpu.groups[index] = group;
            let group = checker.keep(own, group, put);
            checked.table.groups.push(group);
        }
        consistency::cpu(checker, &checked);
    } else if let Some(key) = Section::Cpu.key("groups") {
        checker.report(keys::missing(fields, key));
    }
    let put = |lab: &mut Lab, cpu: Cpu| lab.hosts[0].cpu.base_cores = cpu.base_cores;
    checker.keep(own, checked, put)
}

fn pools<'t>(checker: &mut Checker<'t>, host: &Fields<'t>, at: usize) -> Vec<Pool> {
    let Some((key, node)) = Section::Host.key("disk").zip(host.node("disk")) else {
        return Vec::new();
    };
    let Value::List(list) = &node.value else {
        checker.report(checker.key_value(key, node).pools_not_a_list());
        return Vec::new();
    };
    if list.len() > LONGEST_LIST {
        checker.report(keys::too_many(LONGEST_LIST, "host.disk", node.place));
        return Vec::new();
    }
    named_tables(
        checker,
        list,
        "pools of one host",
        |checker, node, index| pool(checker, host, node, [at, index]),
    )
}

/// The pool with that place in its host.
fn pool<'t>(checker: &mut Checker<'t>, host: &Fields<'t>, node: &'t Node, at: [usize; 2]) -> Pool {
    let path = table_path(&join(&host.path, "disk"), node);
    let (fields, mut draft) = checker.values::<Pool>(path, Some(node), host.header);
    for name in ["base_used", "base_written"] {
        if at[1] > 0 && !draft.is_given(name) {
            let assumed = crate::lab::DefaultOrigin::Assumption;
            checker.record_default(&fields, name, "0 B".to_owned(), assumed);
            draft.give(name, &Field::Number(0.0), Given::Valid);
        }
    }
    let pool = checker.complete((fields, draft));
    consistency::pool(checker, &pool);
    checker.keep(Some(at[0]), pool, move |lab, pool| {
        lab.hosts[0].disks[at[1]] = pool;
    })
}

fn image<'t>(checker: &mut Checker<'t>, node: &'t Node, at: usize) -> Image {
    let image = checker.table(table_path("image", node), Some(node), None);
    checker.keep(None, image, move |lab, image| lab.images[at] = image)
}

/// A guest; `images` are the names of the images and their places.
fn guest<'t>(
    checker: &mut Checker<'t>,
    node: &'t Node,
    at: usize,
    images: &HashMap<&str, usize>,
) -> Guest {
    let path = table_path("guest", node);
    let (fields, mut draft) = checker.values::<Guest>(path, Some(node), None);
    if draft.is_given("image")
        && let Some(node) = fields.node("image")
        && let Some(name) = node.text()
    {
        if let Some(index) = images.get(name) {
            draft.table.image = Some(*index);
        } else {
            let mut names: Vec<&str> = images.keys().copied().collect();
            names.sort_unstable();
            checker.report(keys::no_image(name, node.place, &names));
        }
    }
    let guest = checker.complete((fields, draft));
    consistency::guest(checker, &guest);
    checker.keep(None, guest, move |lab, guest: Guest| {
        // How many run is never drawn, and the command line may have set it in place of the file.
        let Guest { count, share, .. } = lab.guests[at];
        lab.guests[at] = Guest {
            count,
            share,
            ..guest
        };
    })
}

/// A pool that a guest or an image names must be there in every host that has disks at all, and in one at least.
fn check_pool(checker: &mut Checker<'_>, hosts: &[Host], place: Place, pool: &str) {
    let anywhere = hosts.iter().any(|host| !host.disks.is_empty());
    let mut without = hosts.iter().filter(|host| {
        (!host.disks.is_empty() || !anywhere) && host.disks.iter().all(|disk| disk.name != pool)
    });
    if !checker.is_full()
        && let Some(first) = without.next()
    {
        checker.report(keys::no_pool(pool, place, first, without.count()));
    }
}
