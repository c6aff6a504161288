//! What a host is chosen by.

/// What hosts are ranked by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// Price and energy over the years of the lab.
    Cost,
    /// Price.
    Price,
    /// Power at the wall.
    Watts,
    /// Guests held.
    Guests,
    /// Cost per guest.
    CostPerGuest,
    /// Name.
    Name,
}

impl Sort {
    /// The word on the command line and in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Sort::Cost => "cost",
            Sort::Price => "price",
            Sort::Watts => "watts",
            Sort::Guests => "guests",
            Sort::CostPerGuest => "cost-per-guest",
            Sort::Name => "name",
        }
    }
}

/// What a host has to meet.
#[derive(Debug, Clone)]
pub struct Criteria {
    /// How many of each profile must run; without it the mix of the lab is multiplied as in `fit`.
    pub need: Option<Vec<u64>>,
    /// Most that it may cost to buy `[money]`.
    pub budget: Option<f64>,
    /// Most that it may draw with those guests `[W]`.
    pub max_watts: Option<f64>,
    /// What hosts are ranked by.
    pub sort: Sort,
}
