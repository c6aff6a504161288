//! Reads `[host.memory]`.

use crate::diagnose::Diagnostic;
use crate::diagnose::ErrorKind;
use crate::inventory::fields::Fields;
use crate::inventory::locate;
use crate::inventory::read::{Reader, whole};
use crate::inventory::relation::Named;
use crate::lab::HostMemory;
use crate::lab::keys::Section;
use crate::unit::format;
use crate::unit::parse::Dimension;

use super::sub;

pub(super) fn memory<'t>(reader: &mut Reader<'t>, host: &Fields<'t>) -> HostMemory {
    let fields = sub(reader, host, Section::Memory, "memory");
    let errors_before = reader.errors.len();
    let key = fields.find("modules").0;
    let mut modules: Vec<f64> = Vec::new();
    for node in reader.list(&fields, "modules") {
        let number = match node.table() {
            Some(table) => {
                let list = locate::join(&fields.path, "modules");
                let path = locate::join(&list, &(modules.len() + 1).to_string());
                reader.uncertain_at(path, key, node, table)
            }
            None => reader.plain(key, node),
        };
        modules.push(number.value);
    }
    let modules_are_right = reader.errors.len() == errors_before;
    let [file_cache_floor, file_cache] = file_cache(reader, &fields);
    let memory = HostMemory {
        slots: reader.optional(&fields, "slots").map(whole),
        max_module: reader.optional(&fields, "max_module"),
        firmware_reserved: reader.number(&fields, "firmware_reserved").value,
        base: reader.number(&fields, "base").value,
        file_cache,
        file_cache_floor,
        swap: reader.number(&fields, "swap").value,
        compressed_swap: reader.number(&fields, "compressed_swap").value,
        compressed_swap_ratio: reader.number(&fields, "compressed_swap_ratio").value,
        module_prices: reader.prices(&fields, "module_prices", Dimension::Bytes),
        modules,
    };
    if modules_are_right {
        check_modules(reader, &fields, &memory);
    }
    memory
}

/// `file_cache_floor` and `file_cache`, of which the first defaults to the second.
fn file_cache<'t>(reader: &mut Reader<'t>, fields: &Fields<'t>) -> [f64; 2] {
    let cache = reader.number(fields, "file_cache");
    let Some(floor) = reader.number_if_given(fields, "file_cache_floor") else {
        reader.note_rule(fields, "file_cache_floor", "");
        return [cache.value, cache.value];
    };
    if floor.is_given() && !cache.is_given() && floor.value > cache.value {
        let (_, entry) = fields.find("file_cache_floor");
        let error = Diagnostic::new(
            ErrorKind::PartExceedsWhole,
            "`file_cache_floor` is given without a `file_cache` that large",
        )
        .at_any(
            entry.map(|entry| entry.node.place),
            "more than `file_cache`, which is 0 B if left out",
        )
        .hint("add file_cache, the size of the cache when it is full");
        reader.report(error);
    }
    let (low, high) = (
        Named {
            name: "file_cache_floor",
            number: floor,
        },
        Named {
            name: "file_cache",
            number: cache,
        },
    );
    [reader.at_most(low, high), cache.value]
}

fn check_modules<'t>(reader: &mut Reader<'t>, fields: &Fields<'t>, memory: &HostMemory) {
    let place = |name| fields.node(name).map(|node| node.place);
    let sum: f64 = memory.modules.iter().sum();
    // The frame table takes 64 bytes of each page, as in `model::memory`.
    let visible = (sum - memory.firmware_reserved) * (1.0 - 64.0 / 4096.0);
    if visible <= 0.0 {
        let error = Diagnostic::new(
            ErrorKind::NoMemoryLeft,
            "the modules hold no more than the firmware keeps for itself",
        )
        .at_any(place("modules"), "all the memory there is")
        .at_any(
            place("firmware_reserved"),
            "held back by firmware and devices",
        )
        .hint("firmware_reserved is \"0.5 GiB\" if left out; give less, or larger modules");
        reader.report(error);
        return;
    }
    if memory.compressed_swap / memory.compressed_swap_ratio >= visible {
        let error = Diagnostic::new(
            ErrorKind::NoMemoryLeft,
            "compressed swap, when full, takes all the memory there is",
        )
        .at_any(place("compressed_swap"), "its uncompressed size")
        .at_any(
            place("compressed_swap_ratio"),
            "how many times smaller it gets",
        )
        .hint("compressed_swap / compressed_swap_ratio must be less than the modules hold");
        reader.report(error);
    }
    if memory
        .slots
        .is_some_and(|slots| (memory.modules.len() as u64) > slots)
    {
        let message = format!(
            "{} modules do not fit into {}",
            memory.modules.len(),
            format::plural(memory.slots.unwrap_or(0), "slot", "slots")
        );
        let error = Diagnostic::new(ErrorKind::ModulesDoNotFit, message)
            .at_any(place("modules"), "more modules than slots")
            .at_any(place("slots"), "slots on the board")
            .hint("count the modules, or the slots, again");
        reader.report(error);
    }
    if memory
        .max_module
        .is_some_and(|largest| memory.modules.iter().any(|module| *module > largest))
    {
        let error = Diagnostic::new(
            ErrorKind::ModulesDoNotFit,
            "a module is larger than the board takes",
        )
        .at_any(place("modules"), "holds a module that is too large")
        .at_any(place("max_module"), "largest module the board takes")
        .hint("raise max_module, or use smaller modules");
        reader.report(error);
    }
}
