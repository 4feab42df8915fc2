//! Item statistics, reliability and agreement of markers.

use counsel::amounts::student_quantile;
use questions::agreement::{self, Kappa, Weights};
use questions::analysis::{self, TestReport};
use questions::answers::Column;
use questions::figure::{Absent, Figure};
use questions::quantile;

use crate::{CheckError, Input, unknown_word};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "class-of-ten"
        | "kuder-richardson-20"
        | "kuder-richardson-21"
        | "interval-of-reliability"
        | "alpha-without-an-item"
        | "item-and-total"
        | "item-and-rest"
        | "upper-and-lower-group"
        | "interval-of-a-share" => of_class(input),
        "quantiles-of-f-and-t" => quantiles(input),
        "kappa-of-two-markers" | "kappa-as-printed" | "kappa-weighted-by-hand" => kappa(input),
        "kappa-of-many-markers" => {
            let counts = table(input.word("counts")?)?;
            agreement::fleiss(&counts).map_err(absent)
        }
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

#[derive(serde::Deserialize)]
struct Classes {
    class: Vec<Class>,
}

#[derive(serde::Deserialize)]
struct Class {
    id: String,
    rows: String,
}

/// The columns of a class: each row is a pattern of 0 and 1, and how many learners have it where it is not one.
fn columns(id: &str) -> Result<Vec<Column>, CheckError> {
    let unreadable = |message: String| CheckError::Unreadable { topic: "classes", message };
    let all: Classes = toml::from_str(include_str!("../data/classes.toml"))
        .map_err(|error| unreadable(error.to_string()))?;
    let class = all.class.iter().find(|class| class.id == id).ok_or_else(|| unknown_word("class", id))?;
    let mut columns: Vec<Column> = Vec::new();
    for row in class.rows.lines().filter(|row| !row.is_empty()) {
        let (pattern, times) = row.split_once(' ').unwrap_or((row, "1"));
        let times: usize = times.parse().map_err(|_| unreadable(row.to_owned()))?;
        for (item, credit) in pattern.chars().enumerate() {
            if columns.len() == item {
                columns.push(Column {
                    item: format!("item {}", item + 1),
                    earned: Vec::new(),
                    omitted: Vec::new(),
                    chosen: None,
                });
            }
            let column = columns.get_mut(item).ok_or_else(|| unreadable(row.to_owned()))?;
            let earned = f64::from(u8::from(credit == '1'));
            column.earned.extend(std::iter::repeat_n(earned, times));
            column.omitted.extend(std::iter::repeat_n(false, times));
        }
    }
    Ok(columns)
}

fn absent(why: Absent) -> CheckError {
    CheckError::Model(why.to_string())
}

fn known<T: Copy>(figure: Figure<T>) -> Result<T, CheckError> {
    match figure {
        Figure::Known(value) => Ok(value),
        Figure::Absent(why) => Err(absent(why)),
    }
}

fn of_class(input: &Input) -> Result<f64, CheckError> {
    let columns = columns(input.word("class")?)?;
    let report: TestReport =
        analysis::analyse(&columns).map_err(|error| CheckError::Model(error.to_string()))?;
    match input.word("figure")? {
        "variance" => known(report.sd).map(|sd| sd * sd),
        "KR-20" => known(report.kr20),
        "alpha" => known(report.alpha),
        "KR-21" => known(report.kr21),
        "standard error of measurement" => known(report.standard_error),
        "low end" => known(report.alpha_interval).map(|ends| ends[0]),
        "high end" => known(report.alpha_interval).map(|ends| ends[1]),
        figure => of_item(figure, input.number("item")? as usize, &columns, &report),
    }
}

fn of_item(figure: &str, place: usize, columns: &[Column], report: &TestReport) -> Result<f64, CheckError> {
    let index = place.wrapping_sub(1);
    let (Some(item), Some(column)) = (report.by_item.get(index), columns.get(index)) else {
        return Err(unknown_word("item", &place.to_string()));
    };
    match figure {
        "difficulty" => known(item.difficulty),
        "difficulty, low" => known(item.difficulty_interval).map(|ends| ends[0]),
        "difficulty, high" => known(item.difficulty_interval).map(|ends| ends[1]),
        "alpha without" => known(item.alpha_without),
        "with total" => known(item.with_total),
        "with rest" => known(item.with_rest),
        "discrimination" => known(item.discrimination),
        "groups of two" => {
            let totals = analysis::totals(columns);
            let groups = analysis::groups(&totals, 2.0 / totals.len() as f64);
            analysis::discrimination(column, &groups)
                .ok_or_else(|| CheckError::Model("an empty group".to_owned()))
        }
        other => Err(unknown_word("figure", other)),
    }
}

fn quantiles(input: &Input) -> Result<f64, CheckError> {
    let (p, first) = (input.number("p")?, input.number("first")?);
    let found = match input.word("figure")? {
        "F" => quantile::of_f(p, first, input.number("second")?),
        "t" => Some(student_quantile(first as usize, p)),
        other => return Err(unknown_word("figure", other)),
    };
    found.ok_or_else(|| CheckError::Model("no quantile".to_owned()))
}

/// Rows with `/` between them.
fn table<T: std::str::FromStr>(text: &str) -> Result<Vec<Vec<T>>, CheckError> {
    let cell = |word: &str| word.parse().map_err(|_| unknown_word("table", word));
    text.split('/').map(|row| row.split_whitespace().map(cell).collect()).collect()
}

fn kappa(input: &Input) -> Result<f64, CheckError> {
    let counts: Vec<Vec<usize>> = table(input.word("table")?)?;
    let weights = match input.word("weights")? {
        "none" => agreement::weights(Weights::None, counts.len()),
        "linear" => agreement::weights(Weights::Linear, counts.len()),
        "quadratic" => agreement::weights(Weights::Quadratic, counts.len()),
        // Weights of disagreement, as printed: those of agreement are one less their share of the largest.
        stated => {
            let stated: Vec<Vec<f64>> = table(stated)?;
            let most = stated.iter().flatten().copied().fold(0.0, f64::max);
            stated.iter().map(|row| row.iter().map(|weight| 1.0 - weight / most).collect()).collect()
        }
    };
    let found: Kappa = agreement::kappa(&counts, &weights)
        .map_err(|error| CheckError::Model(error.to_string()))?
        .map_err(absent)?;
    match input.word("figure")? {
        "kappa" => Ok(found.value),
        "standard error" => Ok(found.standard_error),
        "low end" => Ok(found.value - quantile::Z_975 * found.standard_error),
        "high end" => Ok(found.value + quantile::Z_975 * found.standard_error),
        other => Err(unknown_word("figure", other)),
    }
}

#[cfg(test)]
mod tests {
    use super::columns;
    use questions::analysis::{Flag, analyse};
    use questions::figure::Figure;

    /// Figures of all kinds, on data that nobody here has made.
    #[test]
    fn val_a_thousand_answers_run_through_all_of_the_analysis() {
        let columns = columns("bock-lieberman").unwrap();
        let report = analyse(&columns).unwrap();
        assert_eq!((report.learners, report.items), (1000, 5));
        let whole = [report.mean, report.sd, report.alpha, report.kr20, report.kr21, report.standard_error];
        assert!(whole.iter().all(|figure| figure.known().is_some()));
        // Bock & Lieberman 1970: rights of the five items, as counted in the table of patterns.
        let rights: Vec<f64> = report.by_item.iter().map(|item| item.difficulty.known().unwrap()).collect();
        for (right, counted) in rights.iter().zip([924.0, 709.0, 553.0, 763.0, 870.0]) {
            assert!((1000.0 * right - counted).abs() < 1e-9);
        }
        for item in &report.by_item {
            let figures = [item.discrimination, item.with_total, item.with_rest, item.alpha_without];
            assert!(figures.iter().all(|figure| matches!(figure, Figure::Known(value) if value.is_finite())));
            assert!(item.distractors.is_err(), "the data have no options");
        }
        let said = |flags: &[Flag]| -> Vec<String> { flags.iter().map(|flag| flag.figure.clone()).collect() };
        // An easy item whose whole interval is easy, and one in the middle.
        let first = report.by_item[0].flags.as_ref().unwrap();
        assert_eq!(first[0].firm, Some(true));
        assert_eq!(said(first), ["difficulty", "discrimination", "item and rest"]);
        assert!(report.by_item[2].flags.as_ref().unwrap().is_empty());
        // Five items: an alpha of 0.29 decides nothing.
        let reliability = report.flags.unwrap();
        assert!(reliability[0].words.contains("too low") && reliability[0].firm == Some(true));
    }
}
