//! The file that `turnday new` writes.

use chrono::{Datelike, Days, NaiveDate, Weekday};
use turnday::kitchen::{read, starter};

#[test]
fn it_reads_without_a_word_on_any_day_of_two_years() {
    let first = NaiveDate::from_ymd_opt(2026, 11, 25).unwrap();
    for n in 0..731 {
        let today = first + Days::new(n);
        let reading = read("starter.json", &starter(today)).judge(today);
        assert_eq!(reading.findings, [], "{today}: {}", reading.to_text(false));
        let kitchen = reading.kitchen.unwrap();
        let arrives = kitchen.joints[0].arrives.unwrap().0.date();
        assert_eq!(arrives.weekday(), Weekday::Fri);
        assert!((3..10).contains(&(arrives - today).num_days()));
        assert!(!starter(today).contains("2000-"), "a date was left unfilled");
    }
}

#[test]
fn it_is_narrow_enough_to_print() {
    let text = starter(NaiveDate::from_ymd_opt(2026, 11, 25).unwrap());
    let longest = text.lines().map(|l| l.chars().count()).max().unwrap();
    assert!(longest <= 120, "{longest}");
    assert!(text.lines().filter(|l| l.trim_start().starts_with("//")).count() >= 20);
}
