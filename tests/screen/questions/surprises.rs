//! When something has happened, or might: the house's own table (`!`), and what-ifs (`i`).

use super::table::Often::{Batch, Then, Weekly};
use super::table::Row;
use crate::walk::At::{Curing, Five};

pub const ROWS: &[Row] = &[
    // The house's table: five days since the last and more, a day more; seven, two days.
    Row {
        number: 24,
        asks: "I forgot Wednesday's turn. Does it matter?",
        often: Weekly,
        at: Curing,
        keys: &["!", "\"missed 6 d\""],
        place: "Trouble",
        answer: &[
            "6 days since the last turn: a day more in the brine.",
            "Turn it now and stir (at once).",
            "24 h more in the brine",
        ],
    },
    // The house's table, under 3 % or strength not known, 5 to 8 °C and under 12 h: note, chill, smell at each visit.
    Row {
        number: 26,
        asks: "Fridge says 7. Do I worry?",
        often: Then,
        at: Curing,
        keys: &["!", "\"warm box 7C 3h\""],
        place: "Trouble",
        answer: &[
            "write it down, chill it, look and smell at each visit.",
            "Chill it under 5 °C",
            "probe again in two hours",
        ],
    },
    // The same table: 8 °C is the top of its band.
    Row {
        number: 27,
        asks: "Power's been off since midnight.",
        often: Then,
        at: Curing,
        keys: &["!", "\"power box 8C 7h\""],
        place: "Trouble",
        answer: &["8 °C for 7 h: write it down, chill it, look and smell at each visit.", "probe again in two hours"],
    },
    Row {
        number: 28,
        asks: "There's froth; it's stringy; it smells.",
        often: Then,
        at: Curing,
        keys: &["!", "\"ropy box smells\""],
        place: "Trouble",
        answer: &[
            "spoiled brine and meat that smells: bin it.",
            "Bin the meat and the brine",
            "look at every tub in the same fridge",
        ],
    },
    // The pail is 27 cm wide, the box 22: 49 of 54 cm; 30 of 46 deep, 23 of 36 high.
    Row {
        number: 4,
        asks: "Can I fit a third bucket?",
        often: Batch,
        at: Five,
        keys: &["i", "\"tub\"", "enter"],
        place: "What if",
        answer: &["Yes: another Little box fits in Porch fridge, low, beside White pail"],
    },
    // Wren and Moss are away until Sun 14 Mar 20:00 as it is; the days asked add Friday and Sunday evening.
    Row {
        number: 23,
        asks: "Can I go away 12th to 14th?",
        often: Batch,
        at: Five,
        keys: &["i", "\"away 12-14 Mar\"", "enter"],
        place: "What if",
        answer: &["Yes: ", "to spare", "turn Little box 5: Sun 14 Mar 20:15 → Mon 15 Mar"],
    },
    // The kept plan has nothing between Mon 8 Mar 20:00 and Wed 10 Mar.
    Row {
        number: 63,
        asks: "I'm poorly; cook's off Tuesday.",
        often: Then,
        at: Five,
        keys: &["i", "\"away 9 Mar\"", "enter"],
        place: "What if",
        answer: &["Yes: all 50 jobs to come stay where they are."],
    },
    // The kept plan lifts Damson from the pail on Fri 12 Mar 12:00; 2.2 kg at six days a kilo is 13.2 days: Sun 14 Mar 20:40 and
    // those is Sun 28 Mar 01:28, and the clocks go on an hour.
    Row {
        number: 64,
        asks: "Someone's given us another leg.",
        often: Then,
        at: Five,
        keys: &["i", "\"more 2.2 ham\"", "enter"],
        place: "What if",
        answer: &[
            "Not if it comes Sat 6 Mar 10:00: room is found for one that is collected Fri 12 Mar 12:00.",
            "It goes in White pail (load 2) Sun 14 Mar 20:40, is lifted Sun 28 Mar 06:30",
        ],
    },
    // As question 64 has it, room for one more comes with the first lift and not before.
    Row {
        number: 3,
        asks: "How many joints can I do at once?",
        often: Batch,
        at: Five,
        keys: &["i", "\"many 2.2 ham\"", "enter"],
        place: "What if",
        answer: &[
            "No plan with even one more was found that keeps everything, if it comes Sat 6 Mar 10:00.",
            "more 2.2 ham",
        ],
    },
    // Fri 26 Mar 07:20 to Sun 28 Mar 13:00, an hour less by the clocks: 52 h 40 = 2.2 d.
    Row {
        number: 65,
        asks: "What's the least I can do and still be all right?",
        often: Then,
        at: Five,
        keys: &["i", "\"binds\"", "enter"],
        place: "What if",
        answer: &[
            "The tightest is Elder, ready Fri 26 Mar 07:20 with 2.2 days to spare.",
            "Elder needs 17.8 days in the brine",
        ],
    },
];
