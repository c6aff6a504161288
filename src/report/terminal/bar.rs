//! A share as a bar: filled up to a tick that is the limit, or past it.

use super::look::Look;

/// Parts of a block, from an eighth to seven eighths.
const EIGHTHS: [&str; 7] = ["▏", "▎", "▍", "▌", "▋", "▊", "▉"];

/// A bar exactly `width` columns wide, whose last column is the limit: "██████▌  │" below, "█████████▶" above it.
///
/// A share that is no number has no bar. What is not nothing shows a trace; what is below the limit never looks full.
pub(super) fn bar(share: f64, width: usize, look: &Look) -> String {
    let length = width.saturating_sub(1);
    if share.is_nan() || length == 0 {
        return " ".repeat(width);
    }
    let (block, steps, tick, over) = match look.ascii {
        true => ("#", 1, '|', '>'),
        false => ("█", 8, '│', '▶'),
    };
    if share > 1.0 {
        return block.repeat(length) + &over.to_string();
    }
    let filled = filled_steps(share, length * steps);
    let mut drawn = block.repeat(filled / steps);
    let mut used = filled / steps;
    if let Some(part) = (filled % steps).checked_sub(1) {
        drawn.push_str(EIGHTHS[part]);
        used += 1;
    }
    drawn.push_str(&" ".repeat(length - used));
    drawn.push(tick);
    drawn
}

/// How many of `steps` a share fills.
fn filled_steps(share: f64, steps: usize) -> usize {
    // At most a few thousand steps: exact as a float, and the result lies within them.
    let nearest = (share.max(0.0) * steps as f64).round() as usize;
    match nearest {
        0 if share > 0.0 => 1,
        full if full >= steps && share < 1.0 => steps - 1,
        _ => nearest,
    }
}

#[cfg(test)]
mod tests {
    use super::{Look, bar};

    const BLOCKS: Look = Look {
        width: 80,
        color: false,
        ascii: false,
    };
    const ASCII: Look = Look {
        width: 80,
        color: false,
        ascii: true,
    };

    #[test]
    fn the_limit_is_the_last_column() {
        for (share, blocks, ascii) in [
            (0.0, "        │", "        |"),
            (-1.0, "        │", "        |"),
            (0.001, "▏       │", "#       |"),
            (0.5, "████    │", "####    |"),
            (0.55, "████▍   │", "####    |"),
            (0.9999, "███████▉│", "####### |"),
            (1.0, "████████│", "########|"),
            (1.0001, "████████▶", "########>"),
            (f64::INFINITY, "████████▶", "########>"),
            (f64::NAN, "         ", "         "),
        ] {
            assert_eq!(bar(share, 9, &BLOCKS), blocks, "{share}");
            assert_eq!(bar(share, 9, &ASCII), ascii, "{share}");
        }
    }
}
