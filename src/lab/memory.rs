//! Keys of `[host.memory]`.

use super::keys::Command::Upgrade;
use super::keys::Section;
use super::keys::Spread::Values;
use super::keys::range::{COUNT, FACTOR, SIZE, SOME_SIZE};
use super::keys::row::{PRICES, SIZES, count, quantity};
use super::origin::DefaultOrigin::{CommonPractice, Derived, Reported};
use super::step::Room::Any;
use super::step::Step::{AtMost, Fill};
use super::step::When;
use super::table::section;

section! {
    /// Memory of a host.
    HostMemory: Section::Memory => {
        modules: Vec<f64> = SIZES, "sizes of the memory modules";
        slots: Option<u64> = count(COUNT).absent("slots are not considered").first(Upgrade), "number of module slots";
        max_module: Option<f64> = quantity(SOME_SIZE).absent("any module is taken to fit").first(Upgrade),
            "largest module the board takes";
        firmware_reserved: f64 = quantity(SIZE).default("0.5 GiB", Reported(6))
            .spread(Values("0.35 GiB", "1 GiB"), "berthage survey, on the host"),
            "memory that firmware and devices hold back";
        base: f64 = quantity(SIZE).default("2 GiB", Reported(6))
            .spread(Values("1 GiB", "4 GiB"), "berthage survey --guests 0, with no guest running"),
            "the host's own memory: operating system and management services";
        file_cache: f64 = quantity(SIZE).default("0 B", CommonPractice), "a file-system cache that does not shrink";
        file_cache_floor: f64 = quantity(SIZE).rule("file_cache", Derived),
            "the least that this cache keeps under pressure";
        swap: f64 = quantity(SIZE).default("0 B", CommonPractice), "swap on disk";
        compressed_swap: f64 = quantity(SIZE).default("0 B", CommonPractice),
            "compressed swap held in memory, by its uncompressed size; over its ratio less than the kernel sees";
        compressed_swap_ratio: f64 = quantity(FACTOR).default("2", CommonPractice),
            "how many times smaller compressed swap gets";
        module_prices: Vec<(f64, f64)> = PRICES.absent("modules have no price").first(Upgrade),
            "what a module of each size costs";
    }
    steps &[
        Fill("file_cache_floor", Any, |memory| memory.file_cache),
        AtMost("file_cache_floor", "file_cache", When::LowGiven),
    ];
}
