//! The questions of patient and visit as tables of the case file.

use terms::{Answer, AnswerKind, Answers, Fact, PATIENT, Question, VISIT};

use super::fields::{Absent, Field, Kind};
use super::sheet::Sheet;
use super::value::Datum;

/// Fields of the table `patient`.
pub const PATIENT_FIELDS: &[Field] = &fields::<{ PATIENT.len() }>(PATIENT);

/// Fields of the table `visit`.
pub const VISIT_FIELDS: &[Field] = &fields::<{ VISIT.len() }>(VISIT);

const fn fields<const N: usize>(questions: &[Question]) -> [Field; N] {
    let mut fields = [Field { name: "", kind: Kind::YesNo, absent: Absent::Asked, about: "" }; N];
    let mut index = 0;
    while index < N {
        let question = &questions[index];
        let kind = match question.kind {
            AnswerKind::YesNo => Kind::YesNo,
            AnswerKind::Word(words) => Kind::Word(words),
            AnswerKind::Quantity(range) => Kind::Quantity { range, words: &[] },
        };
        let absent = if question.may_not_arise { Absent::Unknown } else { Absent::Asked };
        fields[index] = Field { name: question.name, kind, absent, about: question.asks };
        index += 1;
    }
    fields
}

/// The answers of a table.
pub fn read(sheet: &mut Sheet, table: &str, mut answers: Answers) -> Answers {
    for question in answers.questions() {
        let path = format!("{table}.{}", question.name);
        let fact = match sheet.datum(&path) {
            Fact::Known(Datum::Flag(flag)) => Fact::Known(Answer::Flag(flag)),
            Fact::Known(Datum::Number(si)) => Fact::Known(Answer::Number(si)),
            Fact::Known(Datum::Word(word)) => Fact::Known(Answer::Word(word)),
            Fact::Known(_) | Fact::Unknown => Fact::Unknown,
            Fact::NotApplicable => Fact::NotApplicable,
        };
        if let Err(invalid) = answers.answer(table, question.name, fact) {
            sheet.report(&invalid.field, invalid.given, invalid.allowed);
        }
    }
    answers
}

/// Puts the answers of a table, by path.
pub fn list(answers: &Answers, table: &str, put: &mut impl FnMut(&str, Fact<Datum>)) {
    for (question, fact) in answers.iter() {
        let datum = match fact {
            Fact::Known(Answer::Flag(flag)) => Fact::Known(Datum::Flag(flag)),
            Fact::Known(Answer::Word(word)) => Fact::Known(Datum::Word(word)),
            Fact::Known(Answer::Number(si)) => Fact::Known(Datum::Number(si)),
            Fact::Unknown => Fact::Unknown,
            Fact::NotApplicable => Fact::NotApplicable,
        };
        put(&format!("{table}.{}", question.name), datum);
    }
}
