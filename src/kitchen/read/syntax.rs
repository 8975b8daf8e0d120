//! What is wrong when the text is not JSON at all, in words.

use jsonc_parser::errors::{ParseError, ParseErrorKind as K};
use jsonc_parser::{CollectOptions, ParseOptions, ParseResult, ParseStringErrorKind as S, parse_to_ast};
use std::ops::Range;

/// Kitchen files are JSON; comments and a comma after the last item are welcome, and nothing looser.
fn options() -> ParseOptions {
    ParseOptions {
        allow_comments: true,
        allow_trailing_commas: true,
        allow_loose_object_property_names: false,
        allow_missing_commas: false,
        allow_single_quoted_strings: false,
        allow_hexadecimal_numbers: false,
        allow_unary_plus_numbers: false,
        allow_bare_decimal_point_numbers: false,
        allow_non_finite_numbers: false,
        allow_extended_string_escapes: false,
    }
}

/// A syntax error: where, what it says, and what helps.
pub struct SyntaxError {
    pub span: Range<usize>,
    pub says: &'static str,
    pub hint: &'static str,
}

pub fn parse(text: &str) -> Result<ParseResult<'_>, SyntaxError> {
    if let Some(span) = text_over_lines(text) {
        let (says, hint) =
            ("this text is not closed on its line", "text ends with a double quote; a new line in it is \\n");
        return Err(SyntaxError { span, says, hint });
    }
    parse_to_ast(text, &CollectOptions::default(), &options()).map_err(|e| in_words(&e, text))
}

/// The first text that runs over the end of its line: most often its closing quote is missing, and everything after it
/// would be misread.
fn text_over_lines(text: &str) -> Option<Range<usize>> {
    let bytes = text.as_bytes();
    let mut i = 0;
    while i < bytes.len() {
        match (bytes[i], bytes.get(i + 1)) {
            (b'/', Some(b'/')) => i += bytes[i..].iter().position(|b| *b == b'\n').unwrap_or(bytes.len() - i),
            (b'/', Some(b'*')) => i = text[i + 2..].find("*/").map_or(bytes.len(), |n| i + 2 + n + 2),
            (b'"', _) => {
                let start = i;
                i += 1;
                while i < bytes.len() && bytes[i] != b'"' {
                    if bytes[i] == b'\n' || bytes[i] == b'\r' {
                        return Some(start..i);
                    }
                    i += if bytes[i] == b'\\' { 2 } else { 1 };
                }
                i += 1;
            }
            _ => i += 1,
        }
    }
    None
}

fn in_words(e: &ParseError, text: &str) -> SyntaxError {
    let bare = text.get(e.range().start..).is_some_and(|t| t.starts_with(char::is_alphabetic));
    let (says, hint) = match e.kind() {
        K::ExpectedComma => ("a comma is missing before this", "items and fields are parted by commas"),
        K::UnexpectedComma => ("this comma has nothing before it", "take out the comma, or put in what is missing"),
        K::ExpectedColonAfterObjectKey => {
            ("a colon is missing after the field's name", "a field is written \"name\": value")
        }
        K::ExpectedObjectValue => ("a value is missing after the colon", "a field is written \"name\": value"),
        K::ExpectedStringObjectProperty | K::UnexpectedTokenInObject => {
            ("a field's name was expected here", "names stand in double quotes: \"name\": value")
        }
        K::UnexpectedWord | K::UnexpectedToken if bare => {
            ("a word outside quotes", "text stands in double quotes; only true, false and null do without")
        }
        K::SingleQuotedStringsNotAllowed => ("text in single quotes", "use double quotes: \"like this\""),
        K::UnterminatedObject => ("this { is never closed", "each { needs its }"),
        K::UnterminatedArray => ("this [ is never closed", "each [ needs its ]"),
        K::UnterminatedCommentBlock => ("this comment is never closed", "each /* needs its */"),
        K::UnexpectedCloseBrace => ("this } closes nothing", "each } needs its {"),
        K::UnexpectedCloseBracket => ("this ] closes nothing", "each ] needs its ["),
        K::MultipleRootJsonValues => {
            ("there is more after the end of the kitchen", "a kitchen file is one object { ... }")
        }
        K::String(S::UnterminatedStringLiteral) => ("this text is never closed", "text ends with a double quote"),
        K::String(_) => ("a backslash that means nothing here", "write \\\\ for a backslash and \\\" for a quote"),
        K::NestingDepthExceeded => ("lists and objects go too deep", "a kitchen file is at most a few levels deep"),
        K::BareDecimalPointNumbersNotAllowed | K::ExpectedDigit => {
            ("a number with a bare decimal point", "write 0.5 for .5, and 5 for 5.")
        }
        K::HexadecimalNumbersNotAllowed
        | K::UnaryPlusNumbersNotAllowed
        | K::NonFiniteNumbersNotAllowed
        | K::ExpectedDigitFollowingNegativeSign
        | K::ExpectedPlusMinusOrDigitInNumberLiteral => {
            ("this is not a number in JSON", "write plain decimal numbers such as 2.6")
        }
        _ => ("this does not belong here", "a kitchen file is JSON: { \"name\": value, ... }"),
    };
    SyntaxError { span: e.range().start..e.range().end, says, hint }
}
