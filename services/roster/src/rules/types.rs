//! Names and types of a condition, by walking its tree.
//!
//! Belongs here: what each operator takes and gives, and the sentence when it does not fit. Does
//! not belong here: reading ([`super::syntax`]).

use std::collections::BTreeSet;

use cel::IdedExpr;
use cel::common::ast::{CallExpr, Expr, LiteralValue, SelectExpr, SourceInfo, operators as op};

use super::check::{Fault, nearest};
use super::schema::{self, DAYS, Kind, VARIABLES};
use super::syntax::fault;

/// What something is. None of these is told apart further: a list is of whole numbers or words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Type {
    Bool,
    Int,
    Double,
    Text,
    Ints,
    Texts,
    /// A fault was told already; nothing more is said about it.
    Unknown,
}

impl Type {
    fn words(self) -> &'static str {
        match self {
            Type::Bool => "yes or no",
            Type::Int => "a whole number",
            Type::Double => "a number with a fraction",
            Type::Text => "a word",
            Type::Ints => "a list of whole numbers",
            Type::Texts => "a list of words",
            Type::Unknown => "something unknown",
        }
    }

    fn is_number(self) -> bool {
        matches!(self, Type::Int | Type::Double)
    }
}

/// Checks the tree; gives the values that it looks at.
///
/// # Errors
/// Everything that does not fit.
pub(super) fn check(
    text: &str,
    tree: &IdedExpr,
    source: &SourceInfo,
) -> Result<BTreeSet<String>, Vec<Fault>> {
    let mut walk = Walk { text, source, faults: Vec::new(), uses: BTreeSet::new() };
    let whole = walk.of(tree);
    if !matches!(whole, Type::Bool | Type::Unknown) {
        let says = format!(
            "The whole condition must be yes or no, and this is {}; compare it with something.",
            whole.words()
        );
        walk.wrong(tree, says, None);
    }
    if walk.faults.is_empty() {
        return Ok(walk.uses);
    }
    walk.faults.sort_by_key(|fault| (fault.line, fault.column));
    walk.faults.dedup();
    Err(walk.faults)
}

struct Walk<'a> {
    text: &'a str,
    source: &'a SourceInfo,
    faults: Vec<Fault>,
    uses: BTreeSet<String>,
}

impl Walk<'_> {
    fn wrong(&mut self, at: &IdedExpr, says: String, suggestion: Option<String>) -> Type {
        let offset = self.start(at);
        self.faults.push(fault(self.text, offset, says, suggestion));
        Type::Unknown
    }

    /// Where an expression begins; a call knows only where its operator stands.
    fn start(&self, at: &IdedExpr) -> usize {
        let own = self.source.offset_for(at.id).map_or(0, |(start, _)| start as usize);
        match &at.expr {
            Expr::Call(call) => call
                .target
                .iter()
                .map(|target| &**target)
                .chain(&call.args)
                .map(|arg| self.start(arg))
                .chain([own])
                .min()
                .unwrap_or(own),
            Expr::Select(select) => self.start(&select.operand).min(own),
            _ => own,
        }
    }

    fn of(&mut self, at: &IdedExpr) -> Type {
        match &at.expr {
            Expr::Literal(literal) => self.literal(at, literal),
            Expr::Ident(name) => self.name(at, name),
            Expr::Select(select) => self.select(at, select),
            Expr::Call(call) => self.call(at, call),
            Expr::List(list) => self.list(at, &list.elements),
            Expr::Comprehension(_) => {
                let says = "Going through a list is not offered here; name what you mean.";
                self.wrong(at, says.to_owned(), None)
            }
            Expr::Map(_) | Expr::Struct(_) | Expr::Unspecified => {
                self.wrong(at, "This does not belong in a condition.".to_owned(), None)
            }
        }
    }

    fn literal(&mut self, at: &IdedExpr, literal: &LiteralValue) -> Type {
        match literal {
            LiteralValue::Boolean(_) => Type::Bool,
            LiteralValue::Int(_) => Type::Int,
            LiteralValue::Double(_) => Type::Double,
            LiteralValue::String(_) => Type::Text,
            LiteralValue::UInt(_) => {
                let says = "Leave the u away: whole numbers are written like 3.".to_owned();
                self.wrong(at, says, None)
            }
            LiteralValue::Bytes(_) | LiteralValue::Null => {
                self.wrong(at, "This does not belong in a condition.".to_owned(), None)
            }
        }
    }

    fn name(&mut self, at: &IdedExpr, name: &str) -> Type {
        let Some(variable) = schema::find(name) else {
            let near = nearest(name, VARIABLES.iter().map(|variable| variable.name));
            let says = match near {
                Some(near) => format!("{name} is not known; did you mean {near}?"),
                None => format!("{name} is not known; what there is stands beside the field."),
            };
            return self.wrong(at, says, near.map(str::to_owned));
        };
        match variable.kind {
            Kind::IntByClass | Kind::DoubleByClass => {
                let first = format!("{name}.no_heat_cool");
                let says = format!("{name} is by class; say which, like {first}.");
                return self.wrong(at, says, Some(first));
            }
            _ => {}
        }
        self.uses.insert(name.to_owned());
        match variable.kind {
            Kind::Bool => Type::Bool,
            Kind::Int => Type::Int,
            Kind::Double => Type::Double,
            _ => Type::Text,
        }
    }

    fn select(&mut self, at: &IdedExpr, select: &SelectExpr) -> Type {
        let by_class = match &select.operand.expr {
            Expr::Ident(name) if !select.test => match schema::find(name) {
                None => return self.name(&select.operand, name),
                found => found,
            },
            _ => None,
        };
        let fields = by_class.map(|variable| schema::fields(variable.kind)).unwrap_or_default();
        let Some(variable) = by_class.filter(|_| !fields.is_empty()) else {
            return self.wrong(
                at,
                "There is nothing to choose from with a dot here.".to_owned(),
                None,
            );
        };
        if !fields.contains(&&*select.field) {
            let near = nearest(&select.field, fields.iter().copied());
            let says = match near {
                Some(near) => format!(
                    "{}.{} is not known; did you mean {}.{near}?",
                    variable.name, select.field, variable.name
                ),
                None => format!(
                    "{} has no {}; it has {}.",
                    variable.name,
                    select.field,
                    fields.join(", ")
                ),
            };
            return self.wrong(at, says, near.map(|near| format!("{}.{near}", variable.name)));
        }
        self.uses.insert(format!("{}.{}", variable.name, select.field));
        if variable.kind == Kind::IntByClass { Type::Int } else { Type::Double }
    }

    fn list(&mut self, at: &IdedExpr, elements: &[IdedExpr]) -> Type {
        let types: Vec<Type> = elements.iter().map(|element| self.of(element)).collect();
        match types.first() {
            _ if types.contains(&Type::Unknown) => Type::Unknown,
            Some(Type::Int) if types.iter().all(|each| *each == Type::Int) => Type::Ints,
            Some(Type::Text) if types.iter().all(|each| *each == Type::Text) => Type::Texts,
            _ => {
                let says = "A list here holds whole numbers or words, all of one kind.".to_owned();
                self.wrong(at, says, None)
            }
        }
    }

    fn call(&mut self, at: &IdedExpr, call: &CallExpr) -> Type {
        if call.target.is_some() {
            return self.unknown_function(at, call);
        }
        match (call.func_name.as_str(), &call.args[..]) {
            (op::LOGICAL_AND, args) => self.all_bool(args, "&&"),
            (op::LOGICAL_OR, args) => self.all_bool(args, "||"),
            (op::LOGICAL_NOT, args) => self.all_bool(args, "!"),
            (op::CONDITIONAL, [condition, yes, no]) => {
                self.all_bool(std::slice::from_ref(condition), "?");
                let (yes_type, no_type) = (self.of(yes), self.of(no));
                match (yes_type, no_type) {
                    (Type::Unknown, _) | (_, Type::Unknown) => Type::Unknown,
                    _ if yes_type == no_type => yes_type,
                    _ => {
                        let says = format!(
                            "Both answers must be of one kind, and these are {} and {}.",
                            yes_type.words(),
                            no_type.words()
                        );
                        self.wrong(no, says, None)
                    }
                }
            }
            (op::EQUALS, [one, other]) => self.compare(at, one, other, "=="),
            (op::NOT_EQUALS, [one, other]) => self.compare(at, one, other, "!="),
            (op::GREATER, [one, other]) => self.order(one, other, ">"),
            (op::GREATER_EQUALS, [one, other]) => self.order(one, other, ">="),
            (op::LESS, [one, other]) => self.order(one, other, "<"),
            (op::LESS_EQUALS, [one, other]) => self.order(one, other, "<="),
            (op::ADD, [one, other]) => self.reckon(one, other, "+"),
            (op::SUBSTRACT, [one, other]) => self.reckon(one, other, "-"),
            (op::MULTIPLY, [one, other]) => self.reckon(one, other, "*"),
            (op::DIVIDE, [one, other]) => self.reckon(one, other, "/"),
            (op::MODULO, [one, other]) => match self.reckon(one, other, "%") {
                Type::Double => self.wrong(other, "% takes whole numbers.".to_owned(), None),
                other => other,
            },
            (op::NEGATE, [one]) => match self.of(one) {
                it if it.is_number() || it == Type::Unknown => it,
                it => {
                    self.wrong(one, format!("- needs a number, and this is {}.", it.words()), None)
                }
            },
            (op::IN, [one, list]) => self.is_in(one, list),
            ("double" | "int", [one]) => match self.of(one) {
                Type::Unknown => Type::Unknown,
                it if it.is_number() => {
                    if call.func_name == "int" {
                        Type::Int
                    } else {
                        Type::Double
                    }
                }
                it => {
                    let says =
                        format!("{}() needs a number, and this is {}.", call.func_name, it.words());
                    self.wrong(one, says, None)
                }
            },
            _ => self.unknown_function(at, call),
        }
    }

    fn unknown_function(&mut self, at: &IdedExpr, call: &CallExpr) -> Type {
        let name = call.func_name.trim_matches('_');
        let says = format!(
            "{name} is not offered here; there are comparisons, &&, ||, !, in, and + - * / %."
        );
        self.wrong(at, says, None)
    }

    fn all_bool(&mut self, args: &[IdedExpr], sign: &str) -> Type {
        for arg in args {
            let it = self.of(arg);
            if !matches!(it, Type::Bool | Type::Unknown) {
                let says = format!(
                    "{sign} takes yes or no, and this is {}; compare it with something.",
                    it.words()
                );
                self.wrong(arg, says, None);
            }
        }
        Type::Bool
    }

    fn order(&mut self, one: &IdedExpr, other: &IdedExpr, sign: &str) -> Type {
        for side in [one, other] {
            let it = self.of(side);
            if !it.is_number() && it != Type::Unknown {
                let says = format!("{sign} compares numbers, and this is {}.", it.words());
                self.wrong(side, says, None);
            }
        }
        Type::Bool
    }

    fn compare(&mut self, at: &IdedExpr, one: &IdedExpr, other: &IdedExpr, sign: &str) -> Type {
        let (left, right) = (self.of(one), self.of(other));
        let fits = left == right
            || left.is_number() && right.is_number()
            || left == Type::Unknown
            || right == Type::Unknown;
        if !fits {
            let says = format!(
                "{sign} compares things of one kind, and these are {} and {}.",
                left.words(),
                right.words()
            );
            self.wrong(at, says, None);
        }
        self.days(one, std::slice::from_ref(other));
        self.days(other, std::slice::from_ref(one));
        Type::Bool
    }

    fn is_in(&mut self, one: &IdedExpr, list: &IdedExpr) -> Type {
        let (it, among) = (self.of(one), self.of(list));
        let fits = matches!(
            (it, among),
            (Type::Int, Type::Ints)
                | (Type::Text, Type::Texts)
                | (Type::Unknown, _)
                | (_, Type::Unknown)
        );
        if !fits {
            let says = format!(
                "in asks whether something is in a list of its kind, like day in [\"saturday\", \
                 \"sunday\"]; this is {} in {}.",
                it.words(),
                among.words()
            );
            self.wrong(list, says, None);
        }
        if let Expr::List(list) = &list.expr {
            self.days(one, &list.elements);
        }
        Type::Bool
    }

    /// A word that is compared with the day must be one.
    fn days(&mut self, day: &IdedExpr, words: &[IdedExpr]) {
        if !matches!(&day.expr, Expr::Ident(name) if name == "day") {
            return;
        }
        for word in words {
            if let Expr::Literal(LiteralValue::String(text)) = &word.expr {
                let text = text.inner();
                if !DAYS.contains(&text) {
                    let near = nearest(&text.to_ascii_lowercase(), DAYS);
                    let says = match near {
                        Some(near) => format!("\"{text}\" is not a day; did you mean \"{near}\"?"),
                        None => {
                            format!("\"{text}\" is not a day; they are \"monday\" to \"sunday\".")
                        }
                    };
                    self.wrong(word, says, near.map(|near| format!("\"{near}\"")));
                }
            }
        }
    }

    fn reckon(&mut self, one: &IdedExpr, other: &IdedExpr, sign: &str) -> Type {
        let (left, right) = (self.of(one), self.of(other));
        for (side, it) in [(one, left), (other, right)] {
            if !it.is_number() && it != Type::Unknown {
                let says = format!("{sign} needs numbers, and this is {}.", it.words());
                self.wrong(side, says, None);
            }
        }
        match (left, right) {
            (Type::Int, Type::Int) => Type::Int,
            (Type::Double, Type::Double) => Type::Double,
            (Type::Int, Type::Double) | (Type::Double, Type::Int) => {
                let whole = if left == Type::Int { one } else { other };
                let says = format!(
                    "{sign} needs two whole numbers or two with a fraction; write 2.0 for 2, or \
                     double(…) around a name."
                );
                self.wrong(whole, says, None)
            }
            _ => Type::Unknown,
        }
    }
}
