//! Puts the lab together and checks what no single table can know.

use std::collections::HashMap;

use crate::diagnose::ErrorKind;
use crate::diagnose::source::Place;
use crate::diagnose::{Diagnostic, suggest};

use super::Values;
use super::read::Reader;
use super::{read_disk, read_guest, read_host, read_policy};
use crate::lab::{Host, Lab};

/// Reads all values; errors stay with the reader.
pub(super) fn lab<'t>(reader: &mut Reader<'t>, values: &'t Values) -> Lab {
    let table = read_policy::lab(reader, values.lab.as_ref());
    let policy = read_policy::policy(reader, values.policy.as_ref());
    let mut pools_named = Vec::new();

    let mut hosts = Vec::with_capacity(values.hosts.len());
    let mut seen = HashMap::new();
    for node in &values.hosts {
        if reader.is_full() {
            break;
        }
        let (host, place) = read_host::host(reader, node);
        unique(reader, &mut seen, &host.name, place, "hosts");
        hosts.push(host);
    }
    let mut images = Vec::with_capacity(values.images.len());
    let mut seen = HashMap::new();
    for node in &values.images {
        if reader.is_full() {
            break;
        }
        let (image, place, disk_place) = read_disk::image(reader, node);
        unique(reader, &mut seen, &image.name, place, "images");
        pools_named.extend(image.disk.clone().zip(disk_place));
        images.push(image);
    }
    let index: HashMap<&str, usize> = images
        .iter()
        .enumerate()
        .rev()
        .map(|(index, image)| (image.name.as_str(), index))
        .collect();
    let mut guests = Vec::with_capacity(values.guests.len());
    let mut seen = HashMap::new();
    for node in &values.guests {
        if reader.is_full() {
            break;
        }
        let read = read_guest::guest(reader, node, &index);
        unique(
            reader,
            &mut seen,
            &read.guest.name,
            read.name_place,
            "guests",
        );
        pools_named.extend(read.guest.disk.clone().zip(read.disk_place));
        guests.push(read.guest);
    }
    drop(index);
    if reader.is_strict() && !reader.is_full() {
        check_pools(reader, &hosts, &pools_named);
        check_something_is_there(reader, values);
    }
    let mut uncertain = std::mem::take(&mut reader.uncertain);
    uncertain.sort_by(|one, other| one.path.cmp(&other.path));
    Lab {
        name: table.name,
        currency: table.currency,
        tariff: table.tariff,
        years: table.years,
        policy,
        hosts,
        images,
        guests,
        origins: std::mem::take(&mut reader.origins).into_iter().collect(),
        uncertain,
    }
}

/// Complains about a name that one of `seen` has already.
pub(super) fn unique(
    reader: &mut Reader<'_>,
    seen: &mut HashMap<String, Place>,
    name: &str,
    place: Option<Place>,
    things: &str,
) {
    let Some(place) = place.filter(|_| reader.is_strict()) else {
        return;
    };
    if let Some(first) = seen.get(name).copied() {
        let error = Diagnostic::new(
            ErrorKind::Duplicate,
            format!("two {things} have the name `{name}`"),
        )
        .at(place, "named again here")
        .at(first, "first named here")
        .hint("give each a name of its own");
        reader.report(error);
    } else {
        seen.insert(name.to_owned(), place);
    }
}

/// Every pool that a guest or an image names must be there in every host that has disks at all, and in one at least.
fn check_pools(reader: &mut Reader<'_>, hosts: &[Host], named: &[(String, Place)]) {
    for (pool, place) in named {
        let anywhere = hosts.iter().any(|host| !host.disks.is_empty());
        let mut without = hosts.iter().filter(|host| {
            (!host.disks.is_empty() || !anywhere)
                && host.disks.iter().all(|disk| disk.name != *pool)
        });
        let Some(first) = without.next() else {
            continue;
        };
        let others = match without.count() {
            0 => String::new(),
            1 => " and 1 other host".to_owned(),
            count => format!(" and {count} other hosts"),
        };
        let pools = || first.disks.iter().map(|disk| disk.name.as_str());
        let hint = match suggest::closest(pool, pools()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!(
                "host `{}` has {}; a pool must be there in every host that has disks",
                first.name,
                suggest::list(pools(), 10)
            ),
        };
        let message = format!("there is no pool `{pool}` in host `{}`{others}", first.name);
        reader.report(
            Diagnostic::new(ErrorKind::UnknownReference, message)
                .at(*place, "names no pool there")
                .hint(hint),
        );
    }
}

/// There must be something to run and something to run it on.
fn check_something_is_there(reader: &mut Reader<'_>, values: &Values) {
    let host =
        "add [[host]] with name, cpu.groups = [{ cores = 8 }] and memory.modules = [\"32 GiB\"]";
    let guest = "add [[guest]] with name and memory = \"2 GiB\"";
    for (list, what, hint) in [
        (&values.hosts, "host", host),
        (&values.guests, "guest", guest),
    ] {
        if list.is_empty() {
            let message =
                format!("there is no {what}: a lab needs at least one host and one guest");
            reader.report(Diagnostic::new(ErrorKind::EmptyLab, message).hint(hint));
        }
    }
}
