//! Rust source as tokens: comments and the inside of literals are gone, each token knows its lines.

use std::fs;
use std::path::{Path, PathBuf};

/// A word, a piece of punctuation or a literal.
#[derive(Debug, Clone)]
pub struct Token {
    /// The word or the punctuation; empty for a literal.
    pub text: String,
    /// First and last line, from 1.
    pub lines: (usize, usize),
}

/// One file below `src`.
pub struct Source {
    /// Its path below `src`, with `/`.
    pub name: String,
    /// Its tokens, without the items that only tests see.
    pub tokens: Vec<Token>,
}

impl Source {
    /// The source of a text.
    pub fn of(name: &str, text: &str) -> Self {
        Self {
            name: name.to_owned(),
            tokens: without_tests(&tokens(text)).0,
        }
    }
}

/// Every file below `src`, in order of names; those that only tests see are left out.
pub fn sources() -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut paths = Vec::new();
    collect(&root, &mut paths);
    paths.sort();
    let (mut sources, mut for_tests) = (Vec::new(), Vec::new());
    for path in paths {
        let inside = path.strip_prefix(&root).expect("a path below the root");
        let name = inside.to_string_lossy().replace('\\', "/");
        let text = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{name}: {error}"));
        let (tokens, modules) = without_tests(&tokens(&text));
        for_tests.extend(modules.iter().map(|module| below(&name, module)));
        sources.push(Source { name, tokens });
    }
    let is_for_tests = |name: &str| {
        for_tests.iter().any(|module: &String| {
            name.strip_prefix(module.as_str())
                .is_some_and(|rest| rest == ".rs" || rest.starts_with('/'))
        })
    };
    sources.retain(|source| !is_for_tests(&source.name));
    sources
}

/// Where the submodule `module` of the file `name` lives, without `.rs`.
fn below(name: &str, module: &str) -> String {
    let folder = name.trim_end_matches(".rs");
    let folder = folder
        .strip_suffix("mod")
        .map_or_else(|| format!("{folder}/"), std::borrow::ToOwned::to_owned);
    format!("{folder}{module}")
}

fn collect(folder: &Path, paths: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder of the sources") {
        let path = entry.expect("an entry of a folder").path();
        if path.is_dir() {
            collect(&path, paths);
        } else if path.extension().is_some_and(|end| end == "rs") {
            paths.push(path);
        }
    }
}

/// The tokens of a source text.
fn tokens(text: &str) -> Vec<Token> {
    let chars: Vec<char> = text.chars().collect();
    let (mut tokens, mut at, mut line) = (Vec::new(), 0, 1);
    while at < chars.len() {
        let (end, kind) = piece(&chars, at);
        let lines = chars[at..end].iter().filter(|&&c| c == '\n').count();
        if let Some(text) = kind.text(&chars[at..end]) {
            tokens.push(Token {
                text,
                lines: (line, line + lines),
            });
        }
        line += lines;
        at = end;
    }
    tokens
}

enum Piece {
    Space,
    Literal,
    Code,
}

impl Piece {
    fn text(&self, chars: &[char]) -> Option<String> {
        match self {
            Piece::Space => None,
            Piece::Literal => Some(String::new()),
            Piece::Code => Some(chars.iter().collect()),
        }
    }
}

/// The end and the kind of what begins at `at`.
fn piece(chars: &[char], at: usize) -> (usize, Piece) {
    let next = |step: usize| chars.get(at + step).copied().unwrap_or(' ');
    let here = chars[at];
    if here.is_whitespace() {
        return (at + 1, Piece::Space);
    }
    if here == '/' && next(1) == '/' {
        return (find(chars, at, |c| c == '\n'), Piece::Space);
    }
    if here == '/' && next(1) == '*' {
        return (end_of_comment(chars, at), Piece::Space);
    }
    if let Some(end) = raw_string(chars, at) {
        return (end, Piece::Literal);
    }
    match here {
        '"' => (end_of_quoted(chars, at, '"'), Piece::Literal),
        // A quote begins a lifetime unless a quote ends it.
        '\'' if next(1) == '\\' || next(2) == '\'' => {
            (end_of_quoted(chars, at, '\''), Piece::Literal)
        }
        ':' if next(1) == ':' => (at + 2, Piece::Code),
        c if is_word(c) => (find(chars, at, |c| !is_word(c)), Piece::Code),
        _ => (at + 1, Piece::Code),
    }
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

fn find(chars: &[char], from: usize, is_end: impl Fn(char) -> bool) -> usize {
    let length = chars[from..].iter().position(|&c| is_end(c));
    length.map_or(chars.len(), |length| from + length)
}

fn end_of_comment(chars: &[char], at: usize) -> usize {
    let (mut depth, mut end) = (0, at);
    while end + 1 < chars.len() {
        match (chars[end], chars[end + 1]) {
            ('/', '*') => (depth, end) = (depth + 1, end + 2),
            ('*', '/') => (depth, end) = (depth - 1, end + 2),
            _ => end += 1,
        }
        if depth == 0 {
            return end;
        }
    }
    chars.len()
}

fn end_of_quoted(chars: &[char], at: usize, quote: char) -> usize {
    let mut end = at + 1;
    while end < chars.len() && chars[end] != quote {
        end += if chars[end] == '\\' { 2 } else { 1 };
    }
    (end + 1).min(chars.len())
}

/// The end of a raw string (`r"…"`, `br#"…"#`) where one begins.
fn raw_string(chars: &[char], at: usize) -> Option<usize> {
    let is_inside_a_word = at > 0 && is_word(chars[at - 1]);
    let prefix = if chars[at] == 'b' { 1 } else { 0 };
    if is_inside_a_word || chars.get(at + prefix) != Some(&'r') {
        return None;
    }
    let hashes = chars[at + prefix + 1..]
        .iter()
        .take_while(|&&c| c == '#')
        .count();
    let open = at + prefix + 1 + hashes;
    if chars.get(open) != Some(&'"') {
        return None;
    }
    let is_close = |end: &usize| {
        chars[*end] == '"'
            && chars[end + 1..]
                .iter()
                .take(hashes)
                .filter(|&&c| c == '#')
                .count()
                == hashes
    };
    (open + 1..chars.len())
        .find(is_close)
        .map(|end| end + 1 + hashes)
}

/// The tokens without the items behind `#[cfg(test)]`, and the modules among those that are files of their own.
fn without_tests(tokens: &[Token]) -> (Vec<Token>, Vec<String>) {
    let mark = ["#", "[", "cfg", "(", "test", ")", "]"];
    let (mut kept, mut modules, mut at) = (Vec::new(), Vec::new(), 0);
    while at < tokens.len() {
        let rest = &tokens[at..];
        let is_for_tests = rest.len() > mark.len()
            && rest
                .iter()
                .zip(mark)
                .all(|(token, text)| token.text == text);
        if !is_for_tests {
            kept.push(tokens[at].clone());
            at += 1;
            continue;
        }
        let item = &rest[mark.len()..];
        let length = end_of_item(item);
        let is_module = item[..length].iter().position(|token| token.text == "mod");
        if let Some(word) = is_module.filter(|word| item[word + 2].text == ";") {
            modules.push(item[word + 1].text.clone());
        }
        at += mark.len() + length;
    }
    (kept, modules)
}

/// How many tokens the item at the beginning has: to its `;`, or to the brace that closes its body.
pub fn end_of_item(tokens: &[Token]) -> usize {
    let mut depth = 0;
    for (at, token) in tokens.iter().enumerate() {
        match token.text.as_str() {
            "(" | "[" | "{" => depth += 1,
            ")" | "]" => depth -= 1,
            "}" if depth == 1 => return at + 1,
            "}" => depth -= 1,
            ";" if depth == 0 => return at + 1,
            _ => {}
        }
    }
    tokens.len()
}
