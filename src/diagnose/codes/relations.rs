//! E04: values against each other. E05: `--set`.

use super::{Code, Entry, Example};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: Code::Dangling,
        number: "E0401",
        title: "a name that names nothing",
        explanation: "A guest names an image that is not there, or a guest or an image names a disk pool that a host \
                      does not have. A pool that is named must be there in every host that has disks.",
        wrong: Example::File("[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\nimage = \"small\""),
        mended: Example::File(
            "[[image]]\nname = \"small\"\nsize = \"3 GiB\"\n\n[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\nimage = \"small\"",
        ),
    },
    Entry {
        code: Code::WrongOrder,
        number: "E0402",
        title: "a part larger than its whole",
        explanation: "touched ≤ touched_busy ≤ memory, common + repeats ≤ touched, common_busy ≤ keeps · (touched_busy − \
                      touched), disk_used ≤ disk_size, file_cache_floor ≤ file_cache, least ≤ most, and what is idle ≤ \
                      what is busy. A key that is left out makes room for one that is given.",
        wrong: Example::File("[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\ntouched = \"3 GiB\""),
        mended: Example::File("[[guest]]\nname = \"web\"\nmemory = \"4 GiB\"\ntouched = \"3 GiB\""),
    },
    Entry {
        code: Code::Exclusive,
        number: "E0403",
        title: "keys that exclude each other",
        explanation: "A guest has a `count` (these must run) or a `share` (a weight in the mix that is multiplied), not \
                      both. A container has no memory of its own to pin or to back with huge pages.",
        wrong: Example::File("[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\ncount = 3\nshare = 1"),
        mended: Example::File("[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\ncount = 3"),
    },
    Entry {
        code: Code::NeedsPartner,
        number: "E0404",
        title: "a key that means nothing alone",
        explanation: "`burst` needs `burst_speed`, `read_iops` needs `write_iops`, the other way round too, and a backup \
                      window needs a speed: its own or the link's.",
        wrong: Example::File(
            "[[host]]\nname = \"shelf-a\"\ncpu.groups = [{ cores = 8 }]\nmemory.modules = [\"32 GiB\"]\n\n\
             [[host.disk]]\nname = \"pool\"\ncapacity = \"1 TB\"\nread_iops = 40000",
        ),
        mended: Example::File(
            "[[host]]\nname = \"shelf-a\"\ncpu.groups = [{ cores = 8 }]\nmemory.modules = [\"32 GiB\"]\n\n\
             [[host.disk]]\nname = \"pool\"\ncapacity = \"1 TB\"\nread_iops = 40000\nwrite_iops = 20000",
        ),
    },
    Entry {
        code: Code::LayoutDevices,
        number: "E0405",
        title: "a layout these devices cannot have",
        explanation: "parity1 needs at least 3 devices, parity2 at least 4, a mirror a multiple of its `ways` (2 if left \
                      out). `devices` is 1 if left out.",
        wrong: Example::File(
            "[[host]]\nname = \"shelf-a\"\ncpu.groups = [{ cores = 8 }]\nmemory.modules = [\"32 GiB\"]\n\n\
             [[host.disk]]\nname = \"pool\"\ncapacity = \"1 TB\"\nlayout = \"parity1\"\ndevices = 2",
        ),
        mended: Example::File(
            "[[host]]\nname = \"shelf-a\"\ncpu.groups = [{ cores = 8 }]\nmemory.modules = [\"32 GiB\"]\n\n\
             [[host.disk]]\nname = \"pool\"\ncapacity = \"1 TB\"\nlayout = \"parity1\"\ndevices = 3",
        ),
    },
    Entry {
        code: Code::NoMemoryLeft,
        number: "E0406",
        title: "a host without memory",
        explanation: "Firmware, or compressed swap when it is full, takes all that the modules hold. \
                      `firmware_reserved` is 0.5 GiB if left out.",
        wrong: Example::File(
            "[[host]]\nname = \"shelf-a\"\ncpu.groups = [{ cores = 8 }]\nmemory.modules = [\"512 MiB\"]",
        ),
        mended: Example::File(
            "[[host]]\nname = \"shelf-a\"\ncpu.groups = [{ cores = 8 }]\nmemory.modules = [\"8 GiB\"]",
        ),
    },
    Entry {
        code: Code::DoesNotPlug,
        number: "E0407",
        title: "modules the board does not take",
        explanation: "There are more modules than slots, or a module larger than `max_module`.",
        wrong: Example::File(
            "[[host]]\nname = \"shelf-a\"\ncpu.groups = [{ cores = 8 }]\n\n\
             [host.memory]\nmodules = [\"32 GiB\", \"32 GiB\", \"32 GiB\"]\nslots = 2",
        ),
        mended: Example::File(
            "[[host]]\nname = \"shelf-a\"\ncpu.groups = [{ cores = 8 }]\n\n\
             [host.memory]\nmodules = [\"48 GiB\", \"48 GiB\"]\nslots = 2",
        ),
    },
    Entry {
        code: Code::BadSet,
        number: "E0501",
        title: "--set without a path or a value",
        explanation: "--set takes PATH=VALUE. The path is dotted, and names with dots or blanks are quoted; the value is \
                      TOML, so values with units are quoted. The shell takes one layer of quotes away, so add another.",
        wrong: Example::Option("guest.web.memory=4 GiB"),
        mended: Example::Option("guest.web.memory=\"4 GiB\""),
    },
    Entry {
        code: Code::UnknownPath,
        number: "E0502",
        title: "a path that names nothing",
        explanation: "The path of --set starts with lab, policy, host, image or guest; hosts, images, guests and pools \
                      follow by name, groups of cores by number from 1; a key ends it.",
        wrong: Example::Option("guest.wbe.memory=\"4 GiB\""),
        mended: Example::Option("guest.web.memory=\"4 GiB\""),
    },
];
