//! Waiting for one of several servers: the formulas of Erlang.

use statrs::function::gamma::ln_gamma;

use super::number::Number;

/// Below this the recurrence has become a plain product, which is finished in logarithms.
const SMALL: f64 = 1e-280;

/// The chance that all servers are busy when nobody waits (Erlang B): B(c, A) = (A^c/c!) / Σ_{k≤c} A^k/k!.
///
/// - `servers`: c
/// - `offered`: A = λ/µ `[erlang]`, 0 or more, not necessarily whole
///
/// Returns a probability; 0 where it is below 1e-308, see [`ln_erlang_b`].
///
/// # Source
/// A. K. Erlang, Elektroteknikeren 13 (1917); recurrence B(n) = A·B(n−1)/(n + A·B(n−1)): common knowledge since.
///
/// # Example
/// ```
/// use berthage::model::queue::erlang_b;
/// assert!((erlang_b(2, 1.0) - 0.2).abs() < 1e-15);
/// ```
pub fn erlang_b(servers: u64, offered: f64) -> f64 {
    ln_erlang_b(servers, offered).exp()
}

/// ln B(c, A), for loads and numbers of servers at which B itself has no place in a number.
///
/// B(n) = A·B(n−1)/(n + A·B(n−1)) from B(0) = 1; once B is very small the sum in the denominator is n alone, and the
/// rest of the product is a ratio of factorials.
///
/// - `servers`: c
/// - `offered`: A `[erlang]`, 0 or more
///
/// # Source
/// As [`erlang_b`].
///
/// # Example
/// ```
/// use berthage::model::queue::ln_erlang_b;
/// assert!((ln_erlang_b(10_000, 12_000.0) + 1.78927734649).abs() < 5e-12);
/// ```
pub fn ln_erlang_b(servers: u64, offered: f64) -> f64 {
    if servers == 0 {
        return 0.0;
    }
    if offered <= 0.0 {
        return f64::NEG_INFINITY;
    }
    let mut blocked = 1.0;
    for n in 1..=servers {
        let busy = offered * blocked;
        blocked = busy / (n as f64 + busy);
        if blocked < SMALL {
            let (n, c) = (n as f64, servers as f64);
            return blocked.ln() + (c - n) * offered.ln() - (ln_gamma(c + 1.0) - ln_gamma(n + 1.0));
        }
    }
    blocked.ln()
}

/// The chance of having to wait for a server (Erlang C): C(c, A) = c·B / (c − A·(1−B)), B = B(c, A).
///
/// - `servers`: c
/// - `offered`: A `[erlang]`, 0 or more, not necessarily whole
///
/// Returns a probability, or `None` when A ≥ c: the queue then grows for ever.
///
/// # Source
/// A. K. Erlang, Elektroteknikeren 13 (1917); the form by B: common knowledge.
///
/// # Example
/// ```
/// use berthage::model::queue::erlang_c;
/// // README of the CRAN package ErlangC
/// assert!((erlang_c(14, 10.0).unwrap() - 0.1741319).abs() < 5e-8);
/// assert_eq!(erlang_c(8, 8.0), None);
/// ```
pub fn erlang_c(servers: u64, offered: f64) -> Option<f64> {
    let c = servers as f64;
    (offered < c).then(|| wait_chance(c, offered.max(0.0), erlang_b(servers, offered)))
}

/// A, the offered load of the servers: `c·demand/supply` `[erlang]`.
///
/// - `servers`: c; `demand`, `supply`: in one unit, supply > 0
///
/// # Source
/// Definition.
pub fn offered<N: Number>(servers: N, demand: N, supply: N) -> N {
    servers * demand / supply
}

/// The chance of having to wait, from the chance that all servers are busy when nobody waits: `c·B/(c − A·(1 − B))`.
///
/// - `servers`: c; `offered`: A < c `[erlang]`; `blocked`: B, see [`erlang_b`]
///
/// # Source
/// As [`erlang_c`].
pub fn wait_chance<N: Number>(servers: N, offered: N, blocked: N) -> N {
    servers * blocked / (servers - offered * (N::of(1.0) - blocked))
}

/// The mean wait from the chance of one: `C·s/(c − A)`, in the unit of s.
///
/// - `chance`: C, see [`erlang_c`]; `service`: s; `servers`: c; `offered`: A < c `[erlang]`
///
/// # Source
/// As [`erlang_c`].
pub fn mean_wait_at<N: Number>(chance: N, service: N, servers: N, offered: N) -> N {
    chance * service / (servers - offered)
}

/// The mean time until a server is free, over all who come (M/M/c): W = C(c, A)·s / (c − A).
///
/// - `servers`: c
/// - `offered`: A = λ·s `[erlang]`, 0 or more
/// - `service`: s, mean time of service, in the unit of the answer
///
/// Returns the mean wait, or `None` when A ≥ c: it has no bound.
///
/// # Source
/// As [`erlang_c`].
///
/// # Example
/// ```
/// use berthage::model::queue::mean_wait;
/// // README of the CRAN package ErlangC: 14 servers, 10 erlang, 180 s
/// assert!((mean_wait(14, 10.0, 180.0).unwrap() - 7.83593701177724).abs() < 5e-15 * 100.0);
/// ```
pub fn mean_wait(servers: u64, offered: f64, service: f64) -> Option<f64> {
    let waits = erlang_c(servers, offered)?;
    Some(mean_wait_at(
        waits,
        service,
        servers as f64,
        offered.max(0.0),
    ))
}
