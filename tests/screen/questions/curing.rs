//! From the order to the last turn.

use super::table::Often::{Batch, Daily, Then, Weekly};
use super::table::Row;
use crate::walk::At::{Curing, Five, Order};

pub const ROWS: &[Row] = &[
    // Wanted Tue 5 Jan 18:00. In on Thu 17 Dec 12:30, 2.9 kg · 6 d = 17 d 9 h 36, out of it Sun 3 Jan 22:06, when the house has
    // stopped at 22:00: so the brine counts from 12:00 or earlier, lifted 21:40 and dried by 22:00; 12 h of rest, in the pot
    // Mon 10:00, 3 h 55 of it, 15 + 15 + 50 + 30 min, in ice 15:45, some 7 h to be cold, 8 h firm, sliced Tue morning.
    Row {
        number: 1,
        asks: "When must I collect the pork?",
        often: Batch,
        at: Order,
        keys: &["5"],
        place: "Joint",
        answer: &[
            "Collect by Tue 15 Dec 18:30; the last moment that keeps every date is Thu 17 Dec 12:00.",
            "Big end is ready Mon 4 Jan 07:30, 34 h to spare.",
        ],
    },
    // 2.7 kg · 6 d · 1.1 = 17.82 d = 17 d 19 h 41; from Sat 6 Mar 10:25 to Wed 24 Mar 06:06.
    Row {
        number: 6,
        asks: "Bone in or out?",
        often: Batch,
        at: Five,
        keys: &["5", "→", "→", "→", "→"],
        place: "Joint, In the brine",
        answer: &["17.8 days, 6 a kilo and 10 % for the bone", "Wed 24 Mar 06:06"],
    },
    // Tue 5 Jan 18:00 less Mon 4 Jan 07:30 = 34 h 30.
    Row {
        number: 8,
        asks: "Have I time before the holiday?",
        often: Batch,
        at: Order,
        keys: &[],
        place: "Timeline, the sentence above it",
        answer: &["Tightest of 2 dates: Big end, ready Mon 4 Jan 07:30, 34 h to spare."],
    },
    // Joints cure at 5 °C or under.
    Row {
        number: 11,
        asks: "Is it cold enough in there?",
        often: Daily,
        at: Curing,
        keys: &["r", "\"fridge 6.5\"", "enter", "4"],
        place: "Tubs and cold, In the cold",
        answer: &["6.5 °C read Mon 7 Dec 18:20", "too warm to cure in: 5 °C at the most"],
    },
    // 3.4 kg · 6 d = 20.4 d = 20 d 9 h 36; from Fri 4 Dec 19:00 to Fri 25 Dec 04:36, as the trade's worked case has it.
    Row {
        number: 12,
        asks: "It came in at 3.4 kg, not 2.6: what moves?",
        often: Then,
        at: Curing,
        keys: &["r", "\"weighed shank 3.4\"", "enter", "5"],
        place: "Joint",
        answer: &[
            "Weighed 3.40 kg (expected 2.6)",
            "shank would come out Sun 20 Dec 20:30, before its days are up Fri 25 Dec 04:36: plan again.",
        ],
    },
    Row {
        number: 13,
        asks: "Which joint goes in which tub?",
        often: Batch,
        at: Five,
        keys: &["6"],
        place: "Brine",
        answer: &["White pail Cedar, Damson, 4.8 kg of meat", "Little box Alder, Birch, 6.2 kg of meat"],
    },
    // 34 · 24 cm · (13.5 lying + 4 over it) = 14.3 L, less 5.1 kg / 1.06 = 4.8 L of meat: 9.5 L.
    Row {
        number: 14,
        asks: "How much water will cover it?",
        often: Batch,
        at: Order,
        keys: &["6"],
        place: "Brine",
        answer: &["water 9.3 kg", "Fill to 17.5 cm, about 9.5 L."],
    },
    // On 5.1 + 9.3 = 14.4 kg: salt 2.5 % = 360 g; 120 mg/kg at 6.25 % = 27.6 g, of which 25.9 g is salt: 334 g plain.
    Row {
        number: 15,
        asks: "How much salt and cure for this tub?",
        often: Batch,
        at: Order,
        keys: &["6"],
        place: "Brine",
        answer: &["plain salt 334 g", "curing salt 27.6 g", "sugar 144 g"],
    },
    // 14.4 kg · 120 mg/kg / 5.88 % = 29.4 g, which brings 27.7 g of salt: 332 g plain.
    Row {
        number: 16,
        asks: "My cure bag says 5.88 %, the recipe 6.25: now what?",
        often: Then,
        at: Order,
        keys: &[
            "K",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "↓",
            "enter",
            "↓",
            "↓",
            "↓",
            "backspace",
            "backspace",
            "backspace",
            "backspace",
            "\"5.88\"",
            "ctrl-s",
            "6",
        ],
        place: "Brine",
        answer: &["curing salt 29.4 g", "5.88 % nitrite", "plain salt 332 g"],
    },
    Row {
        number: 17,
        asks: "Is the brine cold enough to go in?",
        often: Batch,
        at: Order,
        keys: &["2"],
        place: "Day",
        answer: &["Cool the brine for Long box to 5 °C or under, probe it (to 18:30, at the slow end 19:30)"],
    },
    // Elder comes eight days after the others, and a weak brine keeps three.
    Row {
        number: 18,
        asks: "Can I make one lot of brine for all three?",
        often: Batch,
        at: Five,
        keys: &["6"],
        place: "Brine",
        answer: &["Weighed out and boiled Fri 26 Feb 09:00", "Weighed out and boiled Wed 3 Mar 17:00"],
    },
    // 72 h from Fri 26 Feb 15:00.
    Row {
        number: 19,
        asks: "The meat's late: how long may it wait?",
        often: Then,
        at: Five,
        keys: &["2"],
        place: "Day",
        answer: &["Alder, Birch, Cedar and Damson come 15:00", "in the brine by Mon 1 Mar 15:00"],
    },
    Row {
        number: 20,
        asks: "Which one is the ham and which the gammon?",
        often: Batch,
        at: Order,
        keys: &["8"],
        place: "Freezer",
        answer: &["Big end ham, sliced", "Small end gammon steaks"],
    },
    Row {
        number: 21,
        asks: "Which bucket do I turn today?",
        often: Daily,
        at: Curing,
        keys: &[],
        place: "Timeline, the sentence above it",
        answer: &["Next, today 19:00: turn box (shank, fillet), 10 min."],
    },
    // The first turn comes 2 to 4 days after Fri 4 Dec 19:00.
    Row {
        number: 22,
        asks: "Can I turn it tomorrow instead?",
        often: Weekly,
        at: Curing,
        keys: &["3"],
        place: "Turns",
        answer: &[
            "It can wait 24 h.",
            "Sun 6 Dec 19:00 to Tue 8 Dec 19:00 will do",
            "a turn 5 days or more after the last costs a day more in the brine",
        ],
    },
    // 2.6 kg · 6 d = 15 d 14 h 24 from Fri 4 Dec 19:00; half as long again; 35 days at the most.
    Row {
        number: 25,
        asks: "When is this one ready, and how long can it stay?",
        often: Weekly,
        at: Curing,
        keys: &["5"],
        place: "Joint, In the brine",
        answer: &[
            "cured enough Sun 20 Dec 09:24",
            "15.6 days, 6 a kilo; never before",
            "good until Mon 28 Dec 04:36",
            "latest lift Fri 8 Jan 19:00",
        ],
    },
    Row {
        number: 29,
        asks: "When is that bucket free for the next lot?",
        often: Weekly,
        at: Curing,
        keys: &["4"],
        place: "Tubs and cold",
        answer: &["bucket is free. box is empty again Sun 20 Dec 20:45."],
    },
    Row {
        number: 31,
        asks: "Who's turning this week?",
        often: Weekly,
        at: Five,
        keys: &["3"],
        place: "Turns, Still to turn",
        answer: &["Sun 28 Feb 19:35 Little box", "Thu 4 Mar 07:30 White pail Wren"],
    },
];
