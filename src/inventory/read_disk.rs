//! Reads `[[host.disk]]` and `[[image]]`.

use std::collections::HashMap;

use crate::diagnose::Diagnostic;
use crate::diagnose::ErrorKind;
use crate::diagnose::source::Place;
use crate::unit::parse::{Dimension, parse};

use super::fields::Fields;
use super::read::{Given, Number, Reader, whole};
use super::tree::{Node, Value};
use super::{locate, quantity, validate};
use crate::lab::keys::Section;
use crate::lab::{Image, Layout, Pool};

/// What the host itself uses and writes on its first pool, if that is not given.
const BASE_USED: &str = "10 GB";
const BASE_WRITTEN: &str = "4 GB/day";

/// Reads the pools of a host.
pub(super) fn pools<'t>(reader: &mut Reader<'t>, host: &Fields<'t>) -> Vec<Pool> {
    let (key, entry) = host.find("disk");
    let Some(node) = entry.map(|entry| &entry.node) else {
        return Vec::new();
    };
    let Value::List(list) = &node.value else {
        let hint = "open each pool with [[host.disk]], in two brackets";
        let error = quantity::wrong_type(key, node, reader.sources);
        reader.report(Diagnostic {
            hints: vec![hint.to_owned()],
            ..error
        });
        return Vec::new();
    };
    let mut seen = HashMap::new();
    let mut pools = Vec::new();
    for (index, node) in list.iter().enumerate() {
        let (pool, place) = pool(reader, host, node, index);
        validate::unique(reader, &mut seen, &pool.name, place, "pools of one host");
        pools.push(pool);
    }
    pools
}

/// Reads the pool with that index in its host.
fn pool<'t>(
    reader: &mut Reader<'t>,
    host: &Fields<'t>,
    node: &'t Node,
    index: usize,
) -> (Pool, Option<Place>) {
    let name = Reader::path_name(node);
    let path = locate::join(&locate::join(&host.path, "disk"), name);
    let fields = reader.open(Section::Disk, path, Some(node), host.header);
    let (name, place) = reader.name(&fields);
    let devices = reader.number(&fields, "devices");
    let layout = layout(reader, &fields, devices);
    let [read_iops, write_iops] = both_or_none(reader, &fields, ["read_iops", "write_iops"]);
    let [burst, burst_speed] = both_or_none(reader, &fields, ["burst", "burst_speed"]);
    let base_used = base(reader, &fields, "base_used", index, BASE_USED);
    let base_written = base(reader, &fields, "base_written", index, BASE_WRITTEN);
    let pool = Pool {
        name,
        devices: whole(devices.value),
        capacity: reader.number(&fields, "capacity").value,
        layout,
        read_iops,
        write_iops,
        sustained_speed: reader.optional(&fields, "sustained_speed"),
        burst,
        burst_speed,
        endurance: reader.optional(&fields, "endurance"),
        already_written: reader.number(&fields, "already_written").value,
        wa_ratio: reader.number(&fields, "wa_ratio").value,
        amplification: reader.number(&fields, "amplification").value,
        base_used,
        base_written,
        price: reader.optional(&fields, "price"),
        capacity_prices: reader.prices(&fields, "capacity_prices", Dimension::Bytes),
    };
    (pool, place)
}

/// The layout, which needs a number of devices that it can be made of.
fn layout<'t>(reader: &mut Reader<'t>, fields: &Fields<'t>, given_devices: Number) -> Layout {
    let devices = whole(given_devices.value);
    let word = reader.word(fields, "layout");
    let ways = reader.number(fields, "ways");
    let (layout, fits, needs) = match word {
        "mirror" => {
            let ways = whole(ways.value).max(2);
            (
                Layout::Mirror { ways },
                devices.is_multiple_of(ways),
                format!("a multiple of {ways} devices (its `ways`)"),
            )
        }
        "parity1" => (
            Layout::Parity1,
            devices >= 3,
            "at least 3 devices".to_owned(),
        ),
        "parity2" => (
            Layout::Parity2,
            devices >= 4,
            "at least 4 devices".to_owned(),
        ),
        _ => (Layout::Stripe, true, String::new()),
    };
    let judged = [given_devices, ways]
        .iter()
        .all(|number| number.given != Given::Broken);
    if !fits && judged {
        let place = |name| fields.node(name).map(|node| node.place);
        let error = Diagnostic::new(
            ErrorKind::InvalidLayout,
            format!("`{word}` needs {needs}, but there are {devices}"),
        )
        .at_any(
            place("devices").or(fields.header),
            "number of equal devices, 1 if left out",
        )
        .at_any(place("layout"), "the layout")
        .hint("give another number of devices or another layout");
        reader.report(error);
    }
    layout
}

/// Two numbers that mean something only together.
fn both_or_none<'t>(
    reader: &mut Reader<'t>,
    fields: &Fields<'t>,
    names: [&str; 2],
) -> [Option<f64>; 2] {
    let values = names.map(|name| reader.optional(fields, name));
    let (given, left_out) = match values {
        [Some(_), None] => (names[0], names[1]),
        [None, Some(_)] => (names[1], names[0]),
        _ => return values,
    };
    let key = fields.find(left_out).0;
    let error = Diagnostic::new(
        ErrorKind::UnpairedKey,
        format!("`{given}` needs `{left_out}` beside it"),
    )
    .at_any(
        fields.node(given).map(|node| node.place),
        "means nothing alone",
    )
    .hint(format!("add {}, {}", key.example(), key.meaning));
    reader.report(error);
    [None, None]
}

/// What the host itself takes of a pool: a default on the first pool, nothing on others.
fn base<'t>(
    reader: &mut Reader<'t>,
    fields: &Fields<'t>,
    name: &str,
    index: usize,
    first: &str,
) -> f64 {
    if let Some(given) = reader.number_if_given(fields, name) {
        return given.value;
    }
    let (text, value) = if index == 0 {
        let dimension = if name == "base_used" {
            Dimension::Bytes
        } else {
            Dimension::ByteRate
        };
        (first, parse(first, dimension).unwrap_or(0.0))
    } else {
        ("0 B", 0.0)
    };
    reader.note_default(fields, name, text, crate::lab::DefaultOrigin::Assumption);
    value
}

/// Reads one image; the places are those of its name and of the pool it names.
pub(super) fn image<'t>(
    reader: &mut Reader<'t>,
    node: &'t Node,
) -> (Image, Option<Place>, Option<Place>) {
    let name = Reader::path_name(node);
    let fields = reader.open(
        Section::Image,
        locate::join("image", name),
        Some(node),
        None,
    );
    let (name, place) = reader.name(&fields);
    let disk = reader.text(&fields, "disk");
    let image = Image {
        name,
        size: reader.number(&fields, "size").value,
        disk: disk.map(|(disk, _)| disk.to_owned()),
    };
    (image, place, disk.map(|(_, place)| place))
}
