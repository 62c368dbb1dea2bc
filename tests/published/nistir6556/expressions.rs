//! Expressions and parameters against NISTIR 6556, "The NIST RS274/NGC Interpreter, Version 3" (Kramer, Proctor,
//! Messina, 2000), sections 3.3.2.2 to 3.3.3. Tolerance 1e-9 unless a line says otherwise.

use lastply::syntax::{Block, Blocks, EvalError, Lexis, Parameters, SyntaxFaultKind, Value};

fn block(line: &str) -> Block {
    let mut block = Block::default();
    assert!(Blocks::new(line.as_bytes(), 0, Lexis { strict: true }).next(&mut block));
    block
}

fn evaluated(value: &str, parameters: &Parameters) -> Result<f64, EvalError> {
    let block = block(&format!("x{value}"));
    assert!(block.faults.is_empty(), "{value}: {:?}", block.faults);
    match &block.words[0].value {
        Value::Number(number) => Ok(number.value),
        Value::Expression(formula) => formula.eval(parameters),
    }
}

fn values(facts: &[(&str, f64)], parameters: &Parameters) {
    for (text, expected) in facts {
        let value = evaluated(text, parameters);
        let near = value.is_ok_and(|value| (value - expected).abs() < 1e-9);
        assert!(near, "{text} is {value:?}, not {expected}");
    }
}

fn first_fault(line: &str) -> Option<SyntaxFaultKind> {
    block(line).faults.first().map(|fault| fault.kind)
}

/// 3.3.2.3: three levels of operators, each worked from left to right.
#[test]
fn operators_bind_by_level_and_from_the_left() {
    let mut parameters = Parameters::strict();
    parameters.set(3, 2.0);
    values(
        &[
            ("[2.0/3*1.5-5.5/11.0]", 0.5),
            ("[1+acos[0]-[#3**[4.0/2]]]", 87.0),
            ("[1+2*3-4/5]", 6.2),
            ("[2**3**2]", 64.0),
            ("[1+1 and 0]", 0.0),
            ("[0 and 1+1]", 1.0),
        ],
        &parameters,
    );
}

/// 3.3.2.3: logical operators give 0 or 1 and take everything but 0 as true.
#[test]
fn logical_operators_give_zero_or_one() {
    values(
        &[
            ("[2 or 2]", 1.0),
            ("[0 or 0]", 0.0),
            ("[0 or 3]", 1.0),
            ("[2 and 2]", 1.0),
            ("[0 and 1]", 0.0),
            ("[0 and 0]", 0.0),
            ("[2 xor 2]", 0.0),
            ("[0 xor 1]", 1.0),
            ("[0 xor 0]", 0.0),
        ],
        &Parameters::strict(),
    );
}

/// 3.3.2.3: MOD is never negative.
#[test]
fn remainders_are_never_negative() {
    values(
        &[("[15 MOD 4.0]", 3.0), ("[10 mod -3]", 1.0), ("[-7 mod 3]", 2.0), ("[5.5 mod 2]", 1.5)],
        &Parameters::strict(),
    );
}

/// 3.3.2.4: FIX goes down, FUP up, ROUND to the nearest with halves away from zero.
#[test]
fn rounding_goes_where_the_report_says() {
    values(
        &[
            ("fix[2.8]", 2.0),
            ("fix[-2.8]", -3.0),
            ("fup[2.8]", 3.0),
            ("fup[-2.8]", -2.0),
            ("round[0.5]", 1.0),
            ("round[-0.5]", -1.0),
            ("round[2.5]", 3.0),
            ("round[-1.5]", -2.0),
        ],
        &Parameters::strict(),
    );
}

/// 3.3.2.4: angles are degrees, in and out; ATAN takes both legs and so knows the quadrant.
#[test]
fn angles_are_degrees() {
    values(
        &[
            ("atan[1]/[-1]", 135.0),
            ("atan[-1]/[-1]", -135.0),
            ("atan[0]/[-1]", 180.0),
            ("acos[0]", 90.0),
            ("asin[0.5]", 30.0),
            ("sin[30]", 0.5),
            ("cos[60]", 0.5),
            ("tan[45]", 1.0),
        ],
        &Parameters::strict(),
    );
}

/// 3.3.2.4: the other functions.
#[test]
fn functions_of_one_value() {
    values(
        &[("abs[-1.5]", 1.5), ("sqrt[16]", 4.0), ("exp[0]", 1.0), ("ln[exp[2]]", 2.0), ("sqrt[3**2+4**2]", 5.0)],
        &Parameters::strict(),
    );
}

/// 3.3.2.1 and appendix E: a sign belongs to a number, and to nothing else.
#[test]
fn a_sign_belongs_to_the_number() {
    values(&[("[-2**2]", 4.0), ("[1--3]", 4.0), ("-.5", -0.5), ("+0.", 0.0)], &Parameters::strict());
    for line in ["x-[3]", "x-#1", "x+[3]", "x--3", "x[2--[1]]"] {
        assert_eq!(first_fault(line), Some(SyntaxFaultKind::NoDigits), "{line}");
    }
}

/// 3.3.2.2: parameters may point at parameters, `#` takes the nearest value, and unset ones are 0.
#[test]
fn parameters_point_at_parameters() {
    let mut parameters = Parameters::strict();
    parameters.set(1, 10.0);
    parameters.set(10, 7.0);
    values(
        &[("#1", 10.0), ("##1", 7.0), ("[#1+2]", 12.0), ("#[9+1]", 7.0), ("#77", 0.0), ("#1.00001", 10.0)],
        &parameters,
    );
    for text in ["#5400", "#0", "#1.5", "#[-1]"] {
        assert!(matches!(evaluated(text, &parameters), Err(EvalError::IndexOutOfRange(_, 1, 5399))), "{text}");
    }
}

/// 3.3.3: `#n=value` holds the number and the value, and any number of them may stand in a block.
#[test]
fn settings_keep_their_order() {
    let block = block("#3=15 g1 x#3 #3=6");
    let parameters = Parameters::strict();
    let settings: Vec<_> = block
        .assignments
        .iter()
        .map(|setting| (setting.target.eval_index(&parameters), setting.value.eval(&parameters)))
        .collect();
    assert_eq!(settings, [(Ok(3), Ok(15.0)), (Ok(3), Ok(6.0))]);
    assert_eq!(first_fault("#1 5"), Some(SyntaxFaultKind::EqualMissing));
}

/// 3.3.2.3 and 3.3.2.4: what arithmetic cannot do is an error, not a number.
#[test]
fn arithmetic_errors_are_told() {
    let parameters = Parameters::strict();
    assert_eq!(evaluated("[1/0]", &parameters), Err(EvalError::DivisionByZero(1.0)));
    assert_eq!(evaluated("[-2**0.5]", &parameters), Err(EvalError::FractionalPower(-2.0, 0.5)));
    assert_eq!(evaluated("acos[2]", &parameters), Err(EvalError::InverseOutOfRange(2.0, "ACOS")));
    assert_eq!(evaluated("asin[-2]", &parameters), Err(EvalError::InverseOutOfRange(-2.0, "ASIN")));
    assert_eq!(evaluated("sqrt[-1]", &parameters), Err(EvalError::NegativeRoot(-1.0)));
    assert_eq!(evaluated("ln[0]", &parameters), Err(EvalError::LogarithmOutOfRange(0.0)));
    assert_eq!(evaluated("exp[1000]", &parameters), Err(EvalError::TooLarge));
}

/// Appendix E: text outside the grammar, each with what is wrong with it.
#[test]
fn text_outside_the_grammar_is_told() {
    for (line, kind) in [
        ("x1e3", SyntaxFaultKind::BadCharacter),
        ("x1.2.3", SyntaxFaultKind::BadNumber),
        ("g0 x1 ?", SyntaxFaultKind::BadCharacter),
        ("g0 x", SyntaxFaultKind::MissingValue),
        ("g0 x[1+2", SyntaxFaultKind::UnclosedExpression),
        ("g0 x[1 b 2]", SyntaxFaultKind::UnknownOperation),
        ("g0 x asim[1]", SyntaxFaultKind::UnknownFunction),
        ("g0 x zx[1]", SyntaxFaultKind::UnknownFunction),
        ("g0 x atan[1][2]", SyntaxFaultKind::SlashMissing),
        ("g0 x sin 30", SyntaxFaultKind::BracketMissing),
        ("(a (b) c)", SyntaxFaultKind::NestedComment),
        ("g0 x1 (abc", SyntaxFaultKind::UnclosedComment),
        ("n123456 g0 x1", SyntaxFaultKind::LineNumberTooLong),
    ] {
        assert_eq!(first_fault(line), Some(kind), "{line}");
    }
}

/// 3.3: a line with its end may have 254 characters; dialects know no such limit.
#[test]
fn long_lines_are_faults_in_the_strict_language_only() {
    let line = |length: usize| format!("({})\n", "a".repeat(length - 3));
    assert_eq!(first_fault(&line(254)), None);
    assert_eq!(first_fault(&line(255)), Some(SyntaxFaultKind::LineTooLong));
    let mut block = Block::default();
    Blocks::new(line(324).as_bytes(), 0, Lexis::default()).next(&mut block);
    assert!(block.faults.is_empty());
}
