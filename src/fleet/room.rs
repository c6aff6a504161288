//! What packing needs to know of hosts and guests, whatever the laws behind it.

/// Hosts that guests are placed on, and whether they hold them.
///
/// Adding a guest never makes a host hold that did not: what is past a limit stays past it.
pub trait Room {
    /// Number of hosts.
    fn hosts(&self) -> usize;
    /// Number of guest profiles.
    fn profiles(&self) -> usize;
    /// The largest share of a limit that is used on a host, none where a limit is passed.
    ///
    /// `own` counts the guests that have settled there, `moved` those that have just been restarted there.
    fn load(&self, host: usize, own: &[u64], moved: &[u64]) -> Option<f64>;
    /// The largest share of a host's limit that one guest of a profile takes.
    fn size(&self, profile: usize) -> f64;
    /// For each resource that adds up, the smallest share of a host's limit that one guest of each profile takes, whatever
    /// runs beside it: on a host that holds its guests they add up to at most 1.
    fn parts(&self, host: usize) -> &[Vec<f64>];
    /// What guests of a profile share with others of the same number.
    fn family(&self, profile: usize) -> usize;
    /// The kind of a host: hosts of one kind differ in name only.
    fn kind(&self, host: usize) -> usize;
}

/// Guests of each profile on each host.
pub type Counts = Vec<Vec<u64>>;

/// No guest on any host.
#[must_use]
pub fn empty(room: &impl Room) -> Counts {
    vec![vec![0; room.profiles()]; room.hosts()]
}

/// No guest of any profile.
#[must_use]
pub fn none(room: &impl Room) -> Vec<u64> {
    vec![0; room.profiles()]
}
