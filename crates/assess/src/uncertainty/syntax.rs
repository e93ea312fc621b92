//! How the text of a formula is read: numbers, names, + - * / ^, brackets and a few functions.

use super::formula::{BadFormula, Function, Node};

/// Brackets, signs and exponents inside each other; formulas of people stay far below.
const DEEPEST: usize = 60;

pub(super) struct Reader<'a> {
    text: &'a str,
    at: usize,
    depth: usize,
    pub(super) names: Vec<String>,
}

impl<'a> Reader<'a> {
    pub(super) const fn new(text: &'a str) -> Self {
        Self { text, at: 0, depth: 0, names: Vec::new() }
    }

    pub(super) fn whole(&mut self) -> Result<Node, BadFormula> {
        let node = self.sum()?;
        match self.peek() {
            None => Ok(node),
            Some(found) => Err(self.bad(format!("`{found}` was not expected here"))),
        }
    }

    fn bad(&self, why: impl Into<String>) -> BadFormula {
        let before = self.text.get(..self.at).unwrap_or(self.text);
        BadFormula { column: before.chars().count() + 1, why: why.into() }
    }

    fn peek(&mut self) -> Option<char> {
        let rest = self.text.get(self.at..)?;
        self.at += rest.len() - rest.trim_start().len();
        self.text.get(self.at..)?.chars().next()
    }

    fn take(&mut self, wanted: char) -> bool {
        let found = self.peek() == Some(wanted);
        if found {
            self.at += wanted.len_utf8();
        }
        found
    }

    fn take_while(&mut self, part: impl Fn(char) -> bool) -> &'a str {
        let rest = self.text.get(self.at..).unwrap_or("");
        let length = rest.find(|letter| !part(letter)).unwrap_or(rest.len());
        self.at += length;
        rest.get(..length).unwrap_or("")
    }

    fn sum(&mut self) -> Result<Node, BadFormula> {
        let mut node = self.product()?;
        loop {
            if self.take('+') {
                node = Node::Sum(Box::new(node), Box::new(self.product()?));
            } else if self.take('-') {
                node = Node::Difference(Box::new(node), Box::new(self.product()?));
            } else {
                return Ok(node);
            }
        }
    }

    fn product(&mut self) -> Result<Node, BadFormula> {
        let mut node = self.signed()?;
        loop {
            if self.take('*') {
                node = Node::Product(Box::new(node), Box::new(self.signed()?));
            } else if self.take('/') {
                node = Node::Quotient(Box::new(node), Box::new(self.signed()?));
            } else {
                return Ok(node);
            }
        }
    }

    /// -x^2 is -(x^2), and x^-2 is x^(-2).
    fn signed(&mut self) -> Result<Node, BadFormula> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(self.bad("the formula is nested too deeply"));
        }
        let node = if self.take('-') {
            Node::Difference(Box::new(Node::Number(0.0)), Box::new(self.signed()?))
        } else {
            let base = self.primary()?;
            if self.take('^') { Node::Power(Box::new(base), Box::new(self.signed()?)) } else { base }
        };
        self.depth -= 1;
        Ok(node)
    }

    fn primary(&mut self) -> Result<Node, BadFormula> {
        match self.peek() {
            Some('(') => self.bracket(),
            Some(first) if first.is_ascii_digit() || first == '.' => self.number(),
            Some(first) if first.is_alphabetic() || first == '_' => {
                let name = self.take_while(|letter| letter.is_alphanumeric() || letter == '_');
                if self.peek() == Some('(') {
                    let Some(function) = Function::named(name) else {
                        return Err(
                            self.bad(format!("`{name}` is no function; there are {}", Function::NAMES))
                        );
                    };
                    return Ok(Node::Call(function, Box::new(self.bracket()?)));
                }
                let index = self.names.iter().position(|known| known == name).unwrap_or_else(|| {
                    self.names.push(name.to_owned());
                    self.names.len() - 1
                });
                Ok(Node::Input(index))
            }
            Some(found) => Err(self.bad(format!("`{found}` was not expected here"))),
            None => Err(self.bad("the formula ends too early")),
        }
    }

    fn bracket(&mut self) -> Result<Node, BadFormula> {
        self.take('(');
        let node = self.sum()?;
        if self.take(')') { Ok(node) } else { Err(self.bad("a closing bracket is missing")) }
    }

    fn number(&mut self) -> Result<Node, BadFormula> {
        let start = self.at;
        self.take_while(|letter| letter.is_ascii_digit() || letter == '.');
        let mantissa_end = self.at;
        if matches!(self.text.get(self.at..).and_then(|rest| rest.chars().next()), Some('e' | 'E')) {
            self.at += 1;
            self.take_while(|letter| letter == '+' || letter == '-');
            if self.take_while(|letter| letter.is_ascii_digit()).is_empty() {
                self.at = mantissa_end;
            }
        }
        let text = self.text.get(start..self.at).unwrap_or("");
        match text.parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(Node::Number(number)),
            _ => {
                self.at = start;
                Err(self.bad(format!("`{text}` is not a number")))
            }
        }
    }
}
