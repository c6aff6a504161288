//! The manual page, in the language of `man`, and what shells need to complete a call, both made from the command
//! line's own description.

use clap::builder::StyledStr;
use clap::{Arg, Command, CommandFactory};
use clap_complete::Shell;
use clap_mangen::Man;

use super::Cli;

/// Longest line of prose in the page's source; formatters fill lines anew.
const LONGEST: usize = 78;
/// What the maker of the page puts before each of its parts, and a page needs once.
const DEFINITIONS: [&str; 2] = [".ie \\n(.g .ds Aq \\(aq", ".el .ds Aq '"];

/// Neither breaks within words, which are options and names, nor wide gaps on narrow terminals.
const PLAIN: &str = ".nh\n.ad l\n";

/// What a shell needs to complete commands and options.
pub fn completions(shell: Shell) -> String {
    let mut bytes = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "berthage", &mut bytes);
    String::from_utf8_lossy(&bytes).into_owned()
}

/// The manual page of the program with a section for each command.
pub fn manual() -> String {
    let mut program = Cli::command();
    program.build();
    let page = Man::new(program.clone());
    let mut out = roff(|bytes| {
        page.render_name_section(bytes)?;
        page.render_synopsis_section(bytes)?;
        page.render_description_section(bytes)
    });
    for command in program.get_subcommands() {
        let page = Man::new(command.clone());
        let about = roff(|bytes| page.render_description_section(bytes));
        let options = roff(|bytes| page.render_options_section(bytes));
        out.push_str(&format!(
            ".SH \"BERTHAGE {}\"\n",
            command.get_name().to_uppercase()
        ));
        // A command's own sections become parts of its section.
        out.push_str(&about.replace(".SH DESCRIPTION\n", ""));
        out.push_str(&synopsis(command));
        out.push_str(&options.replace(".SH ", ".SS "));
        out.push_str(&examples(command));
    }
    out.push_str(STATUS);
    let title = format!(
        ".TH BERTHAGE 1 \"\" \"berthage {}\"\n",
        env!("CARGO_PKG_VERSION")
    );
    ascii(&(DEFINITIONS.join("\n") + "\n" + &title + PLAIN + &tidy(&out)))
}

/// The call with every option and the name of its value.
fn synopsis(command: &Command) -> String {
    let name = command.get_bin_name().unwrap_or(command.get_name());
    let mut parts = vec![format!("\\fB{}\\fR", escaped(name))];
    let (positionals, options): (Vec<&Arg>, Vec<&Arg>) =
        command.get_arguments().partition(|arg| arg.is_positional());
    for option in options {
        let long = option.get_long().unwrap_or_default();
        let mut text = match option.get_short() {
            Some(short) => format!("\\fB\\-{short}\\fR|\\fB\\-\\-{}\\fR", escaped(long)),
            None => format!("\\fB\\-\\-{}\\fR", escaped(long)),
        };
        if let Some(value) = option.get_value_names().and_then(<[_]>::first)
            && option.get_action().takes_values()
        {
            // A blank that keeps both on one line.
            text.push_str(&format!("\\ \\fI{}\\fR", escaped(value)));
        }
        parts.push(format!("[{text}]"));
    }
    for positional in positionals {
        let names = positional.get_value_names().unwrap_or_default();
        let text = format!("\\fI{}\\fR", escaped(&names.join(" ")));
        parts.push(if positional.is_required_set() {
            text
        } else {
            format!("[{text}]")
        });
    }
    format!(".SS SYNOPSIS\n{}\n", parts.join("\n"))
}

/// The examples, a line each as they are typed.
fn examples(command: &Command) -> String {
    let help = command.get_after_help().map(StyledStr::to_string);
    let Some(help) = help else {
        return String::new();
    };
    let mut out = ".SS EXAMPLES\n.nf\n".to_owned();
    let mut filled = false;
    for line in help.lines() {
        let line = line.trim_start_matches("Example: ").trim();
        if line.is_empty() && !filled {
            out.push_str(".fi\n.PP\n");
            filled = true;
        } else if line != "Examples:" {
            // A line may begin with neither of the signs that begin a request.
            out.push_str(&format!("\\&{}\n", escaped(line)));
        }
    }
    if !filled {
        out.push_str(".fi\n");
    }
    out
}

/// Text with its hyphens as they are typed.
fn escaped(text: &str) -> String {
    text.replace('\\', "\\e").replace('-', "\\-")
}

/// The page without what a checker warns of: repeated definitions, breaks beside breaks, long lines.
fn tidy(page: &str) -> String {
    let mut out = String::with_capacity(page.len());
    let mut is_broken = false;
    let mut is_typed = false;
    for line in page.lines().filter(|line| !DEFINITIONS.contains(line)) {
        is_typed = (is_typed || line == ".nf") && line != ".fi";
        if line == ".br" || line.is_empty() {
            is_broken = true;
            continue;
        }
        if std::mem::take(&mut is_broken) && !line.starts_with(".S") {
            out.push_str(".sp\n");
        }
        if line == ".RS 14" {
            out.push_str(".RS\n");
        } else if line.starts_with('.') || is_typed {
            out.push_str(line);
            out.push('\n');
        } else {
            filled(&mut out, line);
        }
    }
    out
}

/// Adds prose in lines that are not long; none begins with a sign that begins a request.
fn filled(out: &mut String, line: &str) {
    let mut taken = 0;
    for word in line.split(' ') {
        let long = word.len();
        if taken > 0 && taken + 1 + long > LONGEST && !word.starts_with(['.', '\'']) {
            out.push('\n');
            taken = 0;
        } else if taken > 0 {
            out.push(' ');
            taken += 1;
        }
        out.push_str(word);
        taken += long;
    }
    out.push('\n');
}

/// The page in ASCII, which every formatter reads alike; other characters by their code point.
fn ascii(page: &str) -> String {
    let lines = page.lines().map(|line| {
        let escaped: String = line
            .trim_end()
            .chars()
            .map(|c| match c {
                c if c.is_ascii() => c.to_string(),
                c => format!("\\[u{:04X}]", u32::from(c)),
            })
            .collect();
        escaped + "\n"
    });
    lines.collect()
}

/// The exit status, as the manual gives it.
const STATUS: &str = ".SH \"EXIT STATUS\"\n.TP\n0\nanswered, and everything fits\n.TP\n1\nanswered, and something \
                      asked for does not fit\n.TP\n2\nthe input or the call is wrong; nothing was answered\n";

fn roff(write: impl FnOnce(&mut Vec<u8>) -> std::io::Result<()>) -> String {
    let mut bytes = Vec::new();
    // Memory takes all of it.
    let _ = write(&mut bytes);
    String::from_utf8_lossy(&bytes).into_owned()
}
