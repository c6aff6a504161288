//! Which file uses which: every `use` and every path in the code, followed through re-exports to where the item is.

use std::collections::{BTreeMap, BTreeSet};

use super::source::{Source, Token, end_of_item};

/// One file naming something of another.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Use {
    /// The file that names it.
    pub from: String,
    /// The file that has it.
    pub to: String,
    /// The line of `from`.
    pub line: usize,
    /// The path as it is written.
    pub path: String,
}

/// Every use of one file by another, the first of each pair.
pub fn uses(sources: &[Source]) -> Vec<Use> {
    let modules = Modules::of(sources);
    let mut found = BTreeMap::new();
    for source in sources {
        let module = module_of(&source.name);
        for Written { path, line, .. } in written(&source.tokens) {
            let Some(to) = modules.file_of(&module, &path) else {
                continue;
            };
            let pair = (source.name.clone(), to.to_owned());
            if pair.0 != pair.1 {
                found.entry(pair).or_insert((line, path.join("::")));
            }
        }
    }
    let one = |((from, to), (line, path))| Use {
        from,
        to,
        line,
        path,
    };
    found.into_iter().map(one).collect()
}

/// `a::b` for `a/b.rs` and `a/b/mod.rs`, nothing for the root of the crate.
fn module_of(name: &str) -> String {
    let stem = name.trim_end_matches(".rs");
    let stem = stem.strip_suffix("/mod").unwrap_or(stem);
    if stem == "lib" {
        String::new()
    } else {
        stem.replace('/', "::")
    }
}

fn join(module: &str, name: &str) -> String {
    if module.is_empty() {
        name.to_owned()
    } else {
        format!("{module}::{name}")
    }
}

fn parent(module: &str) -> &str {
    module.rsplit_once("::").map_or("", |(parent, _)| parent)
}

/// The tree of modules and what each of them takes in under a name.
struct Modules {
    files: BTreeMap<String, String>,
    names: BTreeMap<String, BTreeMap<String, Vec<String>>>,
}

impl Modules {
    fn of(sources: &[Source]) -> Self {
        let files = sources
            .iter()
            .map(|source| (module_of(&source.name), source.name.clone()));
        let names = sources.iter().map(|source| {
            let taken = written(&source.tokens).into_iter().filter_map(|written| {
                let name = written.name.filter(|name| name != "*")?;
                Some((name, written.path))
            });
            (module_of(&source.name), taken.collect())
        });
        Self {
            files: files.collect(),
            names: names.collect(),
        }
    }

    /// The file that has what a path names; nothing for other crates, and for a module alone.
    fn file_of(&self, module: &str, path: &[String]) -> Option<&str> {
        let module = self.find(module, path, 0)?;
        self.files.get(&module).map(String::as_str)
    }

    /// The module that has the item of a path.
    fn find(&self, module: &str, path: &[String], depth: usize) -> Option<String> {
        let (first, rest) = path.split_first()?;
        match first.as_str() {
            "crate" | "berthage" => self.inside("", rest, depth),
            "self" => self.inside(module, rest, depth),
            "super" => self.inside(parent(module), rest, depth),
            _ if self.files.contains_key(&join(module, first)) => self.inside(module, path, depth),
            _ => self.taken(module, path, depth)?,
        }
    }

    /// The module that has the item of a path that begins inside `module`.
    fn inside(&self, module: &str, path: &[String], depth: usize) -> Option<String> {
        let (first, rest) = path.split_first()?;
        if first == "super" {
            return self.inside(parent(module), rest, depth);
        }
        let child = join(module, first);
        if self.files.contains_key(&child) && !rest.is_empty() {
            return self.inside(&child, rest, depth);
        }
        match self.taken(module, path, depth) {
            Some(found) => found,
            None if self.files.contains_key(&child) => None,
            None => Some(module.to_owned()),
        }
    }

    /// The same for a path whose first word `module` takes in with a `use`.
    fn taken(&self, module: &str, path: &[String], depth: usize) -> Option<Option<String>> {
        let target = self.names.get(module)?.get(&path[0])?;
        let longer: Vec<String> = target.iter().chain(&path[1..]).cloned().collect();
        Some(
            (depth < 9)
                .then(|| self.find(module, &longer, depth + 1))
                .flatten(),
        )
    }
}

/// A path in a source, and the name a `use` gives to it.
struct Written {
    path: Vec<String>,
    line: usize,
    name: Option<String>,
}

/// Every path of a source.
fn written(tokens: &[Token]) -> Vec<Written> {
    let (mut found, mut at) = (Vec::new(), 0);
    while at < tokens.len() {
        let rest = &tokens[at..];
        if rest[0].text == "use" && rest.get(1).is_some_and(|next| next.text != "<") {
            let end = rest
                .iter()
                .position(|token| token.text == ";")
                .unwrap_or(rest.len());
            tree(&rest[1..end], &[], &mut found);
            at += end;
        } else if is_word(&rest[0]) && rest.get(1).is_some_and(|next| next.text == "::") {
            let path = path(rest);
            at += 2 * path.len() - 1;
            found.push(Written {
                path,
                line: rest[0].lines.0,
                name: None,
            });
        } else {
            at += 1;
        }
    }
    found
}

fn is_word(token: &Token) -> bool {
    token
        .text
        .starts_with(|c: char| c.is_alphabetic() || c == '_')
}

/// The words at the beginning that `::` joins.
fn path(tokens: &[Token]) -> Vec<String> {
    let mut path = vec![tokens[0].text.clone()];
    let mut rest = &tokens[1..];
    while let [colons, word, after @ ..] = rest {
        if colons.text != "::" || !is_word(word) {
            break;
        }
        path.push(word.text.clone());
        rest = after;
    }
    path
}

/// The leaves of `a::{self, b as c, d::*}` after `prefix`.
fn tree(tokens: &[Token], prefix: &[String], found: &mut Vec<Written>) {
    let Some(first) = tokens.first() else {
        return;
    };
    if first.text == "{" {
        for branch in branches(&tokens[1..tokens.len() - 1]) {
            tree(branch, prefix, found);
        }
        return;
    }
    let (mut words, mut rest) = (prefix.to_vec(), tokens);
    while let [word, colons, after @ ..] = rest {
        if colons.text != "::" {
            break;
        }
        words.push(word.text.clone());
        rest = after;
        if after[0].text == "{" {
            return tree(after, &words, found);
        }
    }
    let last = rest[0].text.clone();
    if last != "self" && last != "*" {
        words.push(last.clone());
    } else if last == "*" {
        words.push("*".to_owned());
    }
    let name = rest
        .get(2)
        .or(None)
        .map_or_else(|| words.last().cloned(), |name| Some(name.text.clone()));
    found.push(Written {
        path: words,
        line: first.lines.0,
        name,
    });
}

/// What the commas outside of braces part.
fn branches(tokens: &[Token]) -> Vec<&[Token]> {
    let (mut depth, mut start, mut parts) = (0, 0, Vec::new());
    for (at, token) in tokens.iter().enumerate() {
        match token.text.as_str() {
            "{" => depth += 1,
            "}" => depth -= 1,
            "," if depth == 0 => {
                parts.push(&tokens[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    parts.push(&tokens[start..]);
    parts
}

/// Groups of files of which each reaches every other by uses.
pub fn circles(uses: &[Use]) -> Vec<BTreeSet<&str>> {
    let mut next: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for step in uses {
        next.entry(&step.from).or_default().insert(&step.to);
    }
    let reach: BTreeMap<&str, BTreeSet<&str>> = next
        .keys()
        .map(|&from| (from, reached(from, &next)))
        .collect();
    let mut groups = BTreeSet::new();
    for (from, there) in &reach {
        let back = |to: &&&str| reach.get(**to).is_some_and(|there| there.contains(from));
        let group: BTreeSet<&str> = there.iter().filter(back).copied().collect();
        if !group.is_empty() {
            groups.insert(group);
        }
    }
    groups.into_iter().collect()
}

fn reached<'a>(from: &str, next: &BTreeMap<&'a str, BTreeSet<&'a str>>) -> BTreeSet<&'a str> {
    let (mut there, mut open) = (BTreeSet::new(), vec![from]);
    while let Some(file) = open.pop() {
        for &to in next.get(file).into_iter().flatten() {
            if there.insert(to) {
                open.push(to);
            }
        }
    }
    there
}

/// A function and how many of its lines hold code.
pub struct Function {
    /// `file.rs function`.
    pub name: String,
    /// Lines that hold code, from `fn` to the brace that closes it.
    pub lines: usize,
}

/// Every function of a source.
pub fn functions(source: &Source) -> Vec<Function> {
    let tokens = &source.tokens;
    let starts = (0..tokens.len().saturating_sub(1))
        .filter(|&at| tokens[at].text == "fn" && is_word(&tokens[at + 1]));
    let function = |at: usize| {
        let item = &tokens[at..at + end_of_item(&tokens[at..])];
        let lines: BTreeSet<usize> = item
            .iter()
            .flat_map(|token| token.lines.0..=token.lines.1)
            .collect();
        Function {
            name: format!("{} {}", source.name, tokens[at + 1].text),
            lines: lines.len(),
        }
    };
    starts.map(function).collect()
}
