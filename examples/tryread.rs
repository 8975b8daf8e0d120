fn main() {
    let p = std::env::args().nth(1).unwrap();
    let t = std::fs::read_to_string(&p).unwrap();
    let r = turnday::kitchen::read("bad.json", &t).judge(chrono::NaiveDate::from_ymd_opt(2026, 11, 25).unwrap());
    println!("{}", r.to_text(false));
    println!("{}", r.kitchen.is_some());
}
