//! The clock, and dates as people read and write them.

use chrono::{DateTime, Local, NaiveDate, TimeZone, Utc};

/// Now, in seconds since 1970 (UTC).
pub fn now() -> i64 {
    Utc::now().timestamp()
}

/// The day here, such as 2026-03-09.
pub fn day(at: i64) -> String {
    local(at, "%Y-%m-%d")
}

/// Day and time here, such as 2026-03-09 14:05.
pub fn moment(at: i64) -> String {
    local(at, "%Y-%m-%d %H:%M")
}

/// The end of a day here that is written so: 2026-03-09.
pub fn end_of_day(text: &str) -> Option<i64> {
    let day = NaiveDate::parse_from_str(text.trim(), "%Y-%m-%d").ok()?;
    let end = day.and_hms_opt(23, 59, 59)?;
    Local.from_local_datetime(&end).latest().map(|at| at.timestamp())
}

/// The end of a day that is not past, until which a sheet may be held.
///
/// # Errors
/// Where it is no day, or is past, in words.
pub fn last_day(text: &str) -> Result<i64, String> {
    let text = text.trim();
    let soon = day(now() + 14 * 86_400);
    match end_of_day(text) {
        None => Err(format!("“{text}” is no day; write for example {soon}")),
        Some(end) if end < now() => Err(format!("{text} is past; write for example {soon}")),
        Some(end) => Ok(end),
    }
}

fn local(at: i64, form: &str) -> String {
    DateTime::<Utc>::from_timestamp(at, 0).map_or_else(
        || "no date".to_owned(),
        |at| at.with_timezone(&Local).format(form).to_string(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_held_until_a_day_that_is_past() {
        assert!(last_day("2020-01-31").unwrap_err().starts_with("2020-01-31 is past"));
        assert!(last_day("soon").unwrap_err().starts_with("“soon” is no day"));
        assert!(last_day(&day(now() + 3 * 86_400)).unwrap() > now());
    }
}
