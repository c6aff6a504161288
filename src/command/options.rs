//! What options mean for a lab: a busy spell, the one host.

use super::hosts_asked;
use crate::cli::error::CallError;
use crate::cli::{BusySpell, CommonArgs};
use crate::diagnose::Diagnostics;
use crate::lab::{Host, Lab};
use crate::rollout::Spell;

/// A busy spell of guests of the lab.
pub(super) fn spell(typed: BusySpell, lab: &Lab) -> Result<Spell, CallError> {
    let mut guests = lab.guests.iter();
    let profile = guests.position(|guest| guest.name == typed.guest.trim());
    let Some(profile) = profile else {
        let known = lab.guests.iter().map(|guest| guest.name.clone()).collect();
        return Err(CallError::SpellGuest(typed.text, typed.guest, known));
    };
    Ok(Spell {
        at_s: typed.at?,
        profile,
        guests: typed.guests,
        lasts_s: typed.lasting?,
    })
}

/// The one host that a command answers for.
pub(super) fn one_host<'a>(lab: &'a Lab, common: &CommonArgs) -> Result<&'a Host, Diagnostics> {
    match hosts_asked(lab, common)?.as_slice() {
        [host] => Ok(host),
        hosts => {
            let names = hosts.iter().map(|host| host.name.clone()).collect();
            Err(CallError::SeveralHosts(names).into())
        }
    }
}
