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

fn local(at: i64, form: &str) -> String {
    DateTime::<Utc>::from_timestamp(at, 0).map_or_else(
        || "no date".to_owned(),
        |at| at.with_timezone(&Local).format(form).to_string(),
    )
}
