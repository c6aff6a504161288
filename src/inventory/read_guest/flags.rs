//! What is true or false of a guest, and the process that runs it.

use crate::diagnose::Diagnostic;
use crate::diagnose::ErrorKind;
use crate::inventory::fields::Fields;
use crate::inventory::read::Reader;
use crate::lab::DefaultOrigin::{Assumption, Derived, Published};
use crate::lab::Kind;

use super::MIB;
use super::memory::Backing;

/// What the process of a container takes beyond its memory `[B]`, assumption.
const CONTAINER_OVERHEAD: f64 = 10.0 * MIB;

/// What is true or false of a guest's memory.
pub(super) struct Flags {
    /// Its pages may be shared.
    pub merge: bool,
    /// Backed by reserved huge pages.
    pub huge_pages: bool,
    /// Pinned in memory.
    pub pinned: bool,
}

impl Flags {
    /// Reads them.
    pub fn read<'t>(reader: &mut Reader<'t>, fields: &Fields<'t>, kind: Kind) -> Flags {
        let merge = reader.flag_if_given(fields, "merge");
        if fields.node("merge").is_none() {
            reader.note_default(
                fields,
                "merge",
                if kind == Kind::Machine {
                    "true"
                } else {
                    "false"
                },
                Derived,
            );
        }
        let flags = Flags {
            merge: merge.unwrap_or(kind == Kind::Machine),
            huge_pages: reader.flag(fields, "huge_pages"),
            pinned: reader.flag(fields, "pinned"),
        };
        for (name, set) in [("huge_pages", flags.huge_pages), ("pinned", flags.pinned)] {
            if set && kind == Kind::Container {
                let place = |name| fields.node(name).map(|node| node.place);
                let error = Diagnostic::new(
                    ErrorKind::ConflictingKeys,
                    format!("a container cannot have `{name}`, only a machine can"),
                )
                .at_any(place(name), fields.find(name).0.meaning)
                .at_any(
                    place("kind"),
                    "a container has no memory of its own to hold back",
                )
                .hint(format!("leave `{name}` out, or write kind = \"vm\""));
                reader.report(error);
            }
        }
        flags
    }

    /// When the host gives the guest its memory.
    pub fn backing(&self) -> Backing {
        if self.huge_pages || self.pinned {
            Backing::Whole
        } else {
            Backing::Touched
        }
    }
}

/// What stands in for `overhead`.
pub(super) fn overhead_default<'t>(
    reader: &mut Reader<'t>,
    fields: &Fields<'t>,
    kind: Kind,
    vcpus: u64,
    memory: f64,
) -> f64 {
    match kind {
        Kind::Container => {
            reader.note_default(fields, "overhead", "10 MiB", Assumption);
            CONTAINER_OVERHEAD
        }
        Kind::Machine => {
            let origin = Published("public operator docs");
            reader.note_default(
                fields,
                "overhead",
                "30 MiB + 8 MiB per vCPU + 8 MiB + memory/512",
                origin,
            );
            #[expect(clippy::cast_precision_loss, reason = "counts are at most 1,000,000")]
            let vcpus = vcpus as f64;
            30.0 * MIB + 8.0 * MIB * vcpus + 8.0 * MIB + memory / 512.0
        }
    }
}
