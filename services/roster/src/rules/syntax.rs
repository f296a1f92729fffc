//! From text to a tree, within bounds.
//!
//! Belongs here: how long and how deep a condition may be, refused before the library's reader
//! sees it, since that goes down as deep as the text does; and its complaints in our words. Does
//! not belong here: names and types ([`super::types`]).

use cel::common::ast::SourceInfo;
use cel::parser::Parser;
use cel::{IdedExpr, ParseErrors};

use super::check::Fault;

/// Longest condition, characters. A longer one is refused: split it into two rules.
pub(super) const LENGTH_MAX: usize = 600;

/// Most parentheses and brackets within each other. More are refused.
pub(super) const NESTING_MAX: usize = 12;

/// Most operators. More are refused: each may lie one deeper than the one before it.
pub(super) const OPERATORS_MAX: usize = 80;

/// Most faults that are told at once.
const FAULTS_MAX: usize = 8;

/// Reads a condition.
///
/// # Errors
/// What cannot be read, and where.
pub(super) fn read(text: &str) -> Result<(IdedExpr, SourceInfo), Vec<Fault>> {
    bounded(text).map_err(|fault| vec![fault])?;
    words(text).map_err(|fault| vec![fault])?;
    Parser::new().parse_with_source_info(text).map_err(|errors| faults(text, errors))
}

/// Line and column, both from 1, of a place in a text of plain characters.
pub(super) fn place(text: &str, offset: usize) -> (usize, usize) {
    let before = &text[..offset.min(text.len())];
    let line = before.matches('\n').count() + 1;
    let column = before.len() - before.rfind('\n').map_or(0, |at| at + 1) + 1;
    (line, column)
}

pub(super) fn fault(text: &str, offset: usize, says: String, suggestion: Option<String>) -> Fault {
    let (line, column) = place(text, offset);
    Fault { line, column, says, suggestion }
}

fn bounded(text: &str) -> Result<(), Fault> {
    if text.trim().is_empty() {
        let says = "A rule needs a condition, like \"urgent_unassigned > 0\".".to_owned();
        return Err(Fault { line: 1, column: 1, says, suggestion: None });
    }
    if let Some((at, odd)) =
        text.char_indices().find(|(_, c)| !c.is_ascii() || (c.is_control() && *c != '\n'))
    {
        // Before it all is plain, so its place is its number of characters.
        let says = format!("{odd:?} cannot stand in a condition; only plain characters can.");
        let suggestion = match odd {
            '≥' => Some(">="),
            '≤' => Some("<="),
            '≠' => Some("!="),
            '“' | '”' | '„' => Some("\""),
            '‘' | '’' => Some("'"),
            '–' | '−' => Some("-"),
            _ => None,
        };
        return Err(fault(text, at, says, suggestion.map(str::to_owned)));
    }
    if text.len() > LENGTH_MAX {
        let says = format!(
            "This condition has {} characters; at most {LENGTH_MAX} are read. Two rules can say \
             what one cannot.",
            text.len()
        );
        return Err(fault(text, LENGTH_MAX, says, None));
    }
    let (mut depth, mut operators, mut quoted) = (0_usize, 0, None);
    let mut in_operator = false;
    for (at, c) in text.char_indices() {
        match quoted {
            Some(quote) if c == quote => quoted = None,
            Some(_) => continue,
            None => {}
        }
        let operator = "+-*/%<>=!&|?:.".contains(c);
        match c {
            '"' | '\'' if quoted.is_none() => quoted = Some(c),
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' => depth = depth.saturating_sub(1),
            // "!!" and "- -" are two, since each is a step down.
            _ if operator && (!in_operator || "!-?".contains(c)) => operators += 1,
            _ => {}
        }
        in_operator = operator;
        if depth > NESTING_MAX {
            let says = format!(
                "More than {NESTING_MAX} brackets are open here; that many cannot be followed. \
                 Two rules can say what one cannot."
            );
            return Err(fault(text, at, says, None));
        }
        if operators > OPERATORS_MAX {
            let says = format!(
                "More than {OPERATORS_MAX} operators; that many cannot be followed. Two rules can \
                 say what one cannot."
            );
            return Err(fault(text, at, says, None));
        }
    }
    Ok(())
}

/// Words and signs of other languages that people write by habit.
fn words(text: &str) -> Result<(), Fault> {
    let bytes = text.as_bytes();
    let mut quoted = None;
    let mut at = 0;
    while at < bytes.len() {
        let c = bytes[at];
        match quoted {
            Some(quote) => {
                if c == quote {
                    quoted = None;
                }
                at += 1;
                continue;
            }
            None if c == b'"' || c == b'\'' => quoted = Some(c),
            None => {}
        }
        let word_end = at
            + bytes[at..].iter().take_while(|b| b.is_ascii_alphanumeric() || **b == b'_').count();
        if word_end > at {
            let before_dot = at > 0 && bytes[at - 1] == b'.';
            let instead = match &text[at..word_end].to_ascii_lowercase()[..] {
                _ if before_dot => None,
                "and" => Some("&&"),
                "or" => Some("||"),
                "not" => Some("!"),
                _ => None,
            };
            if let Some(instead) = instead {
                let says = format!("\"{}\" is written {instead} here.", &text[at..word_end]);
                return Err(fault(text, at, says, Some(instead.to_owned())));
            }
            at = word_end;
            continue;
        }
        let pair_before = at > 0 && b"=!<>".contains(&bytes[at - 1]);
        if c == b'=' && !pair_before && bytes.get(at + 1) != Some(&b'=') {
            let says =
                "One = is not a comparison; == asks whether two things are equal.".to_owned();
            return Err(fault(text, at, says, Some("==".to_owned())));
        }
        at += 1;
    }
    Ok(())
}

fn faults(text: &str, errors: ParseErrors) -> Vec<Fault> {
    let mut faults: Vec<Fault> = errors
        .errors
        .into_iter()
        .map(|error| {
            let line = usize::try_from(error.pos.0).unwrap_or(1).max(1);
            let column = usize::try_from(error.pos.1).unwrap_or(1).max(1);
            let says = if error.msg.contains("'<EOF>'") {
                "The condition stops in the middle; something is missing here.".to_owned()
            } else {
                match error.msg.split('\'').nth(1).filter(|token| !token.is_empty()) {
                    Some(token) => format!("\"{token}\" does not fit here."),
                    None => "This cannot be read.".to_owned(),
                }
            };
            Fault { line, column, says, suggestion: None }
        })
        .collect();
    faults.dedup_by(|one, other| one.line == other.line && one.column == other.column);
    faults.truncate(FAULTS_MAX);
    if faults.is_empty() {
        faults.push(fault(text, 0, "This cannot be read as a condition.".to_owned(), None));
    }
    faults
}
