//! When a host is full if guests keep coming, in words.

use super::name::with_article;
use crate::sizing::answer::HostAnswer;
use crate::unit::format;

/// "If guests keep coming it is full in 13.5 months: memory, at 47 guests. Until then its price is 44 EUR a month."
pub fn sentence(host: &HostAnswer, currency: &str) -> Option<String> {
    let full = host.full_in.as_ref()?;
    let guests = format::plural(full.guests, "guest", "guests");
    let Some((months, resource)) = full.months.zip(full.resource.as_ref()) else {
        return Some(format!(
            "If guests keep coming nothing runs out within 20 years, at {guests}."
        ));
    };
    // What is past its limit now is said on top.
    if months <= 0.0 {
        return None;
    }
    let months = format::months(months);
    let resource = with_article(resource.resource, &resource.name);
    let price = full.price_per_month.map_or_else(String::new, |price| {
        let price = format::money(price, currency);
        format!(" Until then its price is {price} a month.")
    });
    Some(format!(
        "If guests keep coming it is full in {months}: {resource}, at {guests}.{price}"
    ))
}

/// How long something lasts: "13.5 months", "20 years or more"; "full now" where a limit is passed already.
pub fn lasts(months: f64) -> String {
    match months {
        months if months <= 0.0 => "full now".to_owned(),
        months if months.is_finite() => format::months(months),
        _ => "20 years or more".to_owned(),
    }
}

/// "If guests keep coming it is full in 13.5 months as it is."
pub fn as_it_is(months: f64) -> String {
    match months {
        months if months <= 0.0 => "It is full as it is.".to_owned(),
        months if months.is_finite() => format!(
            "If guests keep coming it is full in {} as it is.",
            format::months(months)
        ),
        _ => "If guests keep coming nothing runs out within 20 years as it is.".to_owned(),
    }
}
