//! Puts the lab together from its tables and checks what a single table cannot show.

use std::collections::HashMap;

use crate::diagnose::source::Place;
use crate::lab::draft::Given;
use crate::lab::drafts::AnyDraft;
use crate::lab::keys::Section;
use crate::lab::table::{SectionTable, Value as Field};
use crate::lab::{
    Backup, CoreGroup, Cpu, Guest, Host, HostMemory, Image, Lab, LabInfo, Merging, Network, Policy,
    Pool, Power, Uncertain,
};

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
    let about: LabInfo = checker.table("lab".to_owned(), values.node("lab"), None).1;
    let (checked, policy) =
        checker.table::<Policy>("policy".to_owned(), values.node("policy"), None);
    checker.keep_uncertain(None, checked.draft, AnyDraft::Policy);
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
    let (checked, mut host): (_, Host) = checker.table(table_path("host", node), Some(node), None);
    let fields = checked.fields;
    if let Some((checked, network)) = optional_table::<Network>(checker, &fields, "network") {
        host.link = Some(network.link);
        host.link_prices = network.link_prices;
        checker.keep_uncertain(at, checked.draft, AnyDraft::Network);
    }
    host.cpu = cpu(checker, &fields, at);
    let (checked, memory) = table_or_defaults::<HostMemory>(checker, &fields, "memory");
    consistency::memory(checker, &checked, &memory);
    host.memory = memory;
    checker.keep_uncertain(at, checked.draft, AnyDraft::Memory);
    let (checked, merging) = table_or_defaults::<Merging>(checker, &fields, "merging");
    host.merging = merging;
    checker.keep_uncertain(at, checked.draft, AnyDraft::Merging);
    host.disks = pools(checker, &fields, at);
    if let Some((checked, power)) = optional_table::<Power>(checker, &fields, "power") {
        host.power = Some(power);
        checker.keep_uncertain(at, checked.draft, AnyDraft::Power);
    }
    if let Some((checked, backup)) = optional_table::<Backup>(checker, &fields, "backup") {
        consistency::backup(checker, &checked, host.link);
        host.backup = Some(backup);
        checker.keep_uncertain(at, checked.draft, AnyDraft::Backup);
    }
    host
}

/// A table of a host, which has defaults if it is left out.
fn table_or_defaults<'t, T: SectionTable>(
    checker: &mut Checker<'t>,
    host: &Fields<'t>,
    name: &str,
) -> (Checked<'t, T>, T) {
    checker.table(join(&host.path, name), host.node(name), host.header)
}

/// A table of a host, without which something is not considered.
fn optional_table<'t, T: SectionTable>(
    checker: &mut Checker<'t>,
    host: &Fields<'t>,
    name: &str,
) -> Option<(Checked<'t, T>, T)> {
    let node = host.node(name)?;
    if node.table().is_none() {
        checker.open_table(T::SECTION, join(&host.path, name), Some(node), host.header);
        return None;
    }
    Some(table_or_defaults(checker, host, name))
}

fn cpu<'t>(checker: &mut Checker<'t>, host: &Fields<'t>, at: usize) -> Cpu {
    let (checked, mut cpu) = table_or_defaults::<Cpu>(checker, host, "cpu");
    let Checked { fields, draft } = checked;
    let own = draft.is_given_valid("base_cores").then_some(cpu.base_cores);
    checker.keep_uncertain(at, draft, AnyDraft::Cpu);
    let Some(key) = Section::Cpu.key("groups") else {
        return cpu;
    };
    let Some(node) = fields.node(key.name) else {
        checker.report(keys::missing(&fields, key));
        return cpu;
    };
    checker.record_given(&fields, key.name, node);
    let path = join(&fields.path, key.name);
    for (index, node) in checker
        .list(checker.key_value(key, node))
        .iter()
        .enumerate()
    {
        let path = join(&path, &(index + 1).to_string());
        let (checked, group) = checker.table::<CoreGroup>(path, Some(node), fields.header);
        checker.keep_uncertain(at, checked.draft, |draft| AnyDraft::Group(index, draft));
        cpu.groups.push(group);
    }
    if let Some(own) = own.filter(|_| !cpu.groups.is_empty()) {
        consistency::cpu(checker, &fields, own, &cpu.groups);
    }
    cpu
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
    let mut checked = checker.values::<Pool>(path, Some(node), host.header);
    for name in ["base_used", "base_written"] {
        if at[1] > 0 && !checked.draft.is_given(name) {
            let assumed = crate::lab::DefaultOrigin::Assumption;
            checker.record_default(&checked.fields, name, "0 B".to_owned(), assumed);
            checked.draft.give(name, &Field::Number(0.0), Given::Valid);
        }
    }
    let pool = checker.complete(&mut checked);
    consistency::pool(checker, &checked, &pool);
    checker.keep_uncertain(at[0], checked.draft, |draft| AnyDraft::Pool(at[1], draft));
    pool
}

fn image<'t>(checker: &mut Checker<'t>, node: &'t Node, at: usize) -> Image {
    let (checked, image) = checker.table(table_path("image", node), Some(node), None);
    checker.keep_uncertain(None, checked.draft, |draft| AnyDraft::Image(at, draft));
    image
}

/// A guest; `images` are the names of the images and their places.
fn guest<'t>(
    checker: &mut Checker<'t>,
    node: &'t Node,
    at: usize,
    images: &HashMap<&str, usize>,
) -> Guest {
    let mut checked = checker.values::<Guest>(table_path("guest", node), Some(node), None);
    if checked.draft.is_given("image")
        && let Some(node) = checked.fields.node("image")
        && let Some(name) = node.text()
    {
        if let Some(index) = images.get(name) {
            let image = Field::Index(*index);
            checked.draft.table.put("image", &image);
        } else {
            let mut names: Vec<&str> = images.keys().copied().collect();
            names.sort_unstable();
            checker.report(keys::no_image(name, node.place, &names));
        }
    }
    let guest = checker.complete(&mut checked);
    consistency::guest(checker, &checked, &guest);
    checker.keep_uncertain(None, checked.draft, |draft| AnyDraft::Guest(at, draft));
    guest
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
