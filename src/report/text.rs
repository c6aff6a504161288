//! Text as every renderer needs it: without control characters, measured in columns, wrapped at words.

use unicode_width::UnicodeWidthStr;

use crate::unit::printable::printable;

/// One line of printable text: line breaks and tabs become spaces, runs of spaces one space.
///
/// What must not reach a terminal becomes a replacement character, as [`printable`] has it.
pub(super) fn clean(text: &str) -> String {
    let visible = printable(text);
    let words = visible.split(' ').filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join(" ")
}

/// Lines that are copied as they stand: every space is kept, a tab becomes four; empty lines at the end are left out.
///
/// What must not reach a terminal is replaced as in [`clean`].
pub(super) fn verbatim(text: &str) -> Vec<String> {
    let kept = text.trim_end().lines();
    kept.map(|line| printable(&line.trim_end().replace('\t', "    ")))
        .collect()
}

/// ASCII for the signs of this program; names stay as they were typed.
pub(super) fn in_ascii(text: &str) -> String {
    // The inverse has to be read as a whole, before its letters are.
    let text = text.replace("⁻¹", "^-1");
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '·' => out.push('*'),
            'Σ' => out.push_str("sum "),
            '√' => out.push_str("sqrt "),
            '⌈' => out.push_str("ceil("),
            '⌉' => out.push(')'),
            '½' => out.push_str("1/2"),
            'κ' => out.push_str("kappa"),
            'β' => out.push_str("beta"),
            'ρ' => out.push_str("rho"),
            'Δ' => out.push_str("Delta"),
            'Φ' => out.push_str("Phi"),
            '–' | '—' | '−' => out.push('-'),
            '×' => out.push('x'),
            'µ' => out.push('u'),
            '…' => out.push_str("..."),
            '≤' => out.push_str("<="),
            '≥' => out.push_str(">="),
            '→' => out.push_str("->"),
            '\u{00A0}' | '\u{202F}' => out.push(' '),
            '\u{FFFD}' => out.push('?'),
            _ => out.push(letter),
        }
    }
    out
}

/// How many columns a terminal gives a line of text.
pub(super) fn columns(text: &str) -> usize {
    text.width()
}

/// The columns of the longest piece that `wrap` would keep on one line if it could.
pub(super) fn longest_word(text: &str) -> usize {
    tokens(text)
        .iter()
        .map(|token| columns(token))
        .max()
        .unwrap_or(0)
}

/// Clean text in lines of at most `width` columns, broken at spaces and, where a word is longer than a line, within it.
pub(super) fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = Lines {
        width,
        done: Vec::new(),
        open: String::new(),
    };
    for token in tokens(text) {
        lines.place(&token);
    }
    // A no-break space at the end of a line holds nothing together, and bold text would keep it where plain text does not.
    let ends = lines.finish().into_iter();
    ends.map(|line| line.trim_end().to_owned())
        .filter(|line| !line.is_empty())
        .collect()
}

/// Words, a number and the unit after it counting as one: a line should not end in "62.4" and the next begin "GiB".
/// So do "2 × 32 GiB", and a key with the value given to it: "swap = 8 GiB".
fn tokens(text: &str) -> Vec<String> {
    let mut tokens = Vec::new();
    let mut words = text.split(' ').filter(|word| !word.is_empty()).peekable();
    while let Some(word) = words.next() {
        let mut token = word.to_owned();
        let mut last = word;
        while let Some(next) = words.next_if(|next| holds(&token, last, next)) {
            token.push(' ');
            token.push_str(next);
            last = next;
        }
        tokens.push(token);
    }
    tokens
}

/// Whether the next word stays on the line of a token that ends in `last`.
fn holds(token: &str, last: &str, next: &str) -> bool {
    let words = token.split(' ').count();
    match words {
        1 if next == "=" => last.chars().any(char::is_alphabetic),
        1 => is_number(last) && !is_number(next),
        2 if last == "=" => is_key(token.trim_end_matches(" =")),
        2 => last == "×" && is_number(next),
        // The unit of the value.
        3 => is_number(last) && !is_number(next) && next != "=",
        _ => false,
    }
}

/// A key of the inventory, as lists of values name it: letters and underscores, not a symbol of a formula.
fn is_key(word: &str) -> bool {
    word.len() > 2
        && word
            .chars()
            .all(|letter| letter.is_ascii_lowercase() || letter == '_')
}

fn is_number(word: &str) -> bool {
    let word = word.trim_start_matches('(');
    word.ends_with(|last: char| last.is_ascii_digit())
        && word
            .chars()
            .all(|letter| letter.is_ascii_digit() || ".,-<>~".contains(letter))
}

/// Lines being filled.
struct Lines {
    width: usize,
    done: Vec<String>,
    open: String,
}

impl Lines {
    fn place(&mut self, token: &str) {
        let needed = columns(token);
        if !self.open.is_empty() && columns(&self.open) + 1 + needed <= self.width {
            self.open.push(' ');
            self.open.push_str(token);
            return;
        }
        self.close();
        if needed <= self.width {
            self.open.push_str(token);
        } else if let Some((number, unit)) = token.split_once(' ') {
            self.place(number);
            self.place(unit);
        } else {
            let mut pieces = broken(token, self.width);
            self.open = pieces.pop().unwrap_or_default();
            self.done.append(&mut pieces);
        }
    }

    fn close(&mut self) {
        if !self.open.is_empty() {
            self.done.push(std::mem::take(&mut self.open));
        }
    }

    fn finish(mut self) -> Vec<String> {
        self.close();
        self.done
    }
}

/// A word too long for a line, in pieces; after a joining mark in the second half of the line where there is one.
fn broken(word: &str, width: usize) -> Vec<String> {
    let mut pieces = Vec::new();
    let mut piece = String::new();
    for letter in word.chars() {
        piece.push(letter);
        if columns(&piece) <= width || piece.chars().nth(1).is_none() {
            continue;
        }
        piece.pop();
        let seam = piece.rfind(['-', '/', ':', '_', '.', ',']).map(|at| at + 1);
        let tail = match seam.filter(|&at| columns(&piece[..at]) * 2 > width) {
            Some(at) => piece.split_off(at),
            None => String::new(),
        };
        pieces.push(std::mem::replace(&mut piece, tail));
        piece.push(letter);
    }
    pieces.push(piece);
    pieces
}

#[cfg(test)]
mod tests {
    use super::{clean, columns, longest_word, verbatim, wrap};

    #[test]
    fn code_keeps_its_spaces_and_loses_its_escapes() {
        assert_eq!(
            verbatim("a  =  1\r\n\n\tb\u{1b}[31m  \n\n"),
            ["a  =  1", "", "    b\u{FFFD}[31m"]
        );
        assert_eq!(verbatim(" \n"), Vec::<String>::new());
    }

    #[test]
    fn escapes_and_direction_marks_are_made_visible() {
        assert_eq!(
            clean("a\u{1b}[31mred\u{7}\u{9b}"),
            "a\u{FFFD}[31mred\u{FFFD}\u{FFFD}"
        );
        assert_eq!(clean("abc\u{202e}def\u{2061}"), "abc\u{FFFD}def\u{FFFD}");
        assert_eq!(clean("  two\n\n lines\tof\r\ntext "), "two lines of text");
    }

    #[test]
    fn words_stay_whole_and_numbers_keep_their_units() {
        assert_eq!(
            wrap("it holds 62.4 GiB of memory", 14),
            ["it holds", "62.4 GiB of", "memory"]
        );
        assert_eq!(wrap("", 10), Vec::<String>::new());
        assert_eq!(wrap("a\u{a0} b \u{a0}", 3), ["a", "b"]);
        assert_eq!(wrap("web (67 %) and", 7), ["web", "(67 %)", "and"]);
        assert_eq!(longest_word("it holds 62.4 GiB of it"), 8);
        assert_eq!(wrap("1234567 guests", 8), ["1234567", "guests"]);
        assert_eq!(
            wrap("vcpus = 1, swap = 8 GiB, trims = true and so on", 20),
            ["vcpus = 1,", "swap = 8 GiB,", "trims = true and so", "on"]
        );
        assert_eq!(
            wrap("replaces 2 × 16 GiB by", 12),
            ["replaces", "2 × 16 GiB", "by"]
        );
        assert_eq!(wrap("here n = guests", 7), ["here", "n =", "guests"]);
        // What is longer than a line is broken after all.
        assert_eq!(wrap("touched = unknown", 9), ["touched", "= unknown"]);
    }

    #[test]
    fn long_words_are_broken_where_they_are_joined() {
        assert_eq!(wrap("backup-server-two", 9), ["backup-", "server-", "two"]);
        assert_eq!(wrap("x abcdefghij", 4), ["x", "abcd", "efgh", "ij"]);
    }

    #[test]
    fn wide_letters_take_two_columns() {
        assert_eq!(columns("倉庫"), 4);
        assert_eq!(wrap("倉庫倉庫倉", 5), ["倉庫", "倉庫", "倉"]);
    }
}
