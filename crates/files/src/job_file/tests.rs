use std::f64::consts::FRAC_PI_2;

use oddment_core::part::Turning;
use oddment_core::plan::Count;

use super::*;

fn parse(sheets: &str, parts: &str, rest: &str) -> Result<SourcedJob, Vec<JobFault>> {
    let text = format!(
        r#"{{"format": "oddment-job", "version": 1, "units": "mm",
            "sheets": [{sheets}], "parts": [{parts}]{rest}}}"#
    );
    parse_job(&text, std::path::Path::new("."), None, GivenClearances::default())
}

const SHEET: &str = r#"{"name": "S", "rectangle": [1000, 500]}"#;
const PART: &str = r#"{"name": "P", "count": 2, "outline": [[0, 0], [100, 0], [0, 50]]}"#;

#[test]
fn a_job_with_everything_in_it() {
    let job = parse(
        r#"{"name": "R-12", "count": 3, "outline": [[0,0],[900,0],[900,600],[0,600]],
            "holes": [[[100,100],[200,100],[200,200]]], "give_or_take": 0.5, "grain_deg": 90,
            "no_go": [{"outline": [[0,0],[50,0],[50,50],[0,50]], "distance": 12}]}"#,
        r#"{"name": "gusset", "count": "max", "outline": [[0,0],[100,0],[0,50]], "turn": 90,
            "flip": true, "grain_deg": 0},
           {"name": "plate", "count": 4, "outline": [[0,0],[9,0],[9,9]], "turn": [0, 45]}"#,
        r#", "clearances": {"kerf": 1.5, "web": 4, "edge": 8},
           "locked": [{"part": "plate", "sheet": "R-12", "x": 300, "y": 20.5, "turn_deg": 90,
                       "flipped": false}]"#,
    )
    .unwrap();
    let stock = &job.job.stock[0];
    assert_eq!((stock.count, stock.sheet.name.as_str()), (3, "R-12"));
    assert_eq!(stock.sheet.area(), 900.0 * 600.0 - 5000.0);
    assert_eq!(stock.sheet.bodies[0].cutouts[0].facts()[0].give_or_take, 0.5);
    assert_eq!(stock.sheet.grain, Some(FRAC_PI_2));
    assert_eq!(stock.sheet.no_go[0].clearance, 12.0);
    let gusset = &job.job.wanted[0];
    assert_eq!(gusset.count, Count::Max);
    assert_eq!(gusset.part.turning, Turning::steps(FRAC_PI_2));
    assert!(gusset.part.flip);
    let clearances = job.job.clearances;
    assert_eq!((clearances.kerf, clearances.web, clearances.sensing), (1.5, 4.0, 4.0));
    let locked = &job.locked.layouts[0].placements[0];
    assert_eq!((locked.part, locked.copy, locked.locked), (1, 1, true));
    assert_eq!((locked.pose.shift.y, locked.pose.turn), (20.5, FRAC_PI_2));
}

#[test]
fn flags_go_before_the_file_and_starting_values_fill_the_rest() {
    let given = |kerf, web| GivenClearances { kerf, web, ..GivenClearances::default() };
    let all = given(Some(1.0), None).or(given(Some(2.0), Some(3.0))).complete();
    assert_eq!((all.kerf, all.web, all.sensing, all.lay), (1.0, 3.0, 3.0, 0.0));
    assert_eq!(all.edge, Clearances::STARTING.edge);
    assert_eq!(GivenClearances::default().complete(), Clearances::STARTING);
}

/// Each problem must be told of, by place and words.
#[track_caller]
fn refused(sheets: &str, parts: &str, rest: &str, problems: &[(&str, &str)]) {
    let told = parse(sheets, parts, rest).unwrap_err();
    assert_eq!(told.len(), problems.len(), "{told:#?}");
    for (fault, (place, words)) in told.iter().zip(problems) {
        let sentence = fault.to_string();
        assert!(sentence.starts_with(place), "{sentence}");
        assert!(sentence.contains(words), "{sentence}");
        assert!(!fault.remedy.is_empty());
    }
}

#[test]
fn all_problems_are_told_of_at_once() {
    refused(
        r#"{"name": "A", "rectangle": [0, 500]}, {"name": "B", "count": 0, "rectangle": [1, 1]}"#,
        r#"{"name": "P", "count": 1000000, "outline": [[0,0],[1,0],[0,1]]},
           {"name": "Q", "turn": "sideways", "outline": [[0,0],[10,10],[10,0],[0,9]]}"#,
        r#", "clearances": {"kerf": -1}"#,
        &[
            ("clearances.kerf", "-1"),
            ("sheets[0].rectangle", "0 will not do"),
            ("sheets[1].count", "0 will not do"),
            ("parts[0].count", "1000000 will not do"),
            ("parts[1]", "crosses or touches itself near"),
            ("parts[1].turn", "no way to turn"),
        ],
    );
}

#[test]
fn what_no_shop_could_mean_is_refused() {
    let one = |outline: &str| format!(r#"{{"name": "P", "outline": {outline}}}"#);
    let part = |outline: &str, place, words| refused(SHEET, &one(outline), "", &[(place, words)]);
    part("[[0,0],[1e300,0],[0,1]]", "parts[0].outline[1]", "1e+300 will not do");
    part("[[0,0],[1,0],[\"2\",1]]", "parts[0].outline[2]", "will not do");
    part("[[0,0],[1,0],[2,1,3]]", "parts[0].outline[2]", "[number, number]");
    part("[[0,0],[1,0],[2,0]]", "parts[0].outline", "no area");
    part("[[0,0],[1,0]]", "parts[0].outline", "two edges");
    part("[]", "parts[0].outline", "two edges");
    part("7", "parts[0].outline", "not a list");
    let many = (0..20_001).map(|i| format!("[{i},{}]", i * i)).collect::<Vec<_>>().join(",");
    part(&format!("[{many}]"), "parts[0].outline", "more than 20000 corners");
    refused(
        SHEET,
        r#"{"name": "P", "outline": [[0,0],[9,0],[0,9]], "holes": [[[20,20],[21,20],[20,21]]]}"#,
        "",
        &[("parts[0]", "lies outside the outline")],
    );
    refused(SHEET, &format!("{PART}, {PART}"), "", &[("parts[1]", "used twice")]);
    refused(SHEET, "", "", &[("parts", "empty")]);
    refused(SHEET, r#"{"name": "P"}"#, "", &[("parts[0]", "no shape")]);
    refused(
        r#"{"name": "S", "rectangle": [9, 9], "outline": []}"#,
        PART,
        "",
        &[("sheets[0]", "both rectangle and outline")],
    );
    refused(
        r#"{"name": "S", "rectangle": [9, 9], "nogo": []}"#,
        PART,
        "",
        &[("sheets[0].nogo", "not known")],
    );
    refused(
        SHEET,
        PART,
        r#", "locked": [{"part": "X", "sheet": "S", "x": 0, "y": 0}]"#,
        &[("locked[0].part", "no part of the job")],
    );
}

#[test]
fn texts_that_are_no_job_are_refused() {
    for (text, words) in [
        ("", "not JSON"),
        ("{\"format\": ", "line 1"),
        ("[1, 2]", "no oddment-job"),
        (r#"{"format": "oddment-plan", "version": 1}"#, "no oddment-job"),
        (r#"{"format": "oddment-job", "version": 2}"#, "version 1"),
        (r#"{"format": "oddment-job", "version": 1, "units": "in"}"#, "in mm"),
        (r#"{"format": "oddment-job", "version": 1, "sheets": NaN}"#, "not JSON"),
        (&"[".repeat(100_000), "not JSON"),
    ] {
        let told = parse_job(text, std::path::Path::new("."), None, GivenClearances::default());
        let told = told.unwrap_err();
        assert!(told[0].to_string().contains(words), "{:?}", told[0]);
    }
}
