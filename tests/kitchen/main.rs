//! Kitchen files, good and bad.
use turnday::kitchen::read;

#[test]
fn the_demonstration_kitchens_read() {
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data")).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let reading = read(&path.file_name().unwrap().to_string_lossy(), &text);
        assert!(reading.kitchen.is_some(), "{}", reading.to_text(false));
    }
}
