//! The table of questions. Beside a row stands the reckoning by hand that its figures were checked with, where it is not plain.

use crate::walk::At;

/// A question and where its answer stands.
#[derive(Clone, Copy)]
pub struct Row {
    /// Its number in the trade's list.
    pub number: u8,
    pub asks: &'static str,
    pub often: Often,
    pub at: At,
    /// From the view the program opens on; what is typed stands in quotation marks.
    pub keys: &'static [&'static str],
    pub place: &'static str,
    /// What must stand there.
    pub answer: &'static [&'static str],
}

#[derive(Clone, Copy, PartialEq)]
pub enum Often {
    Daily,
    Weekly,
    Batch,
    Yearly,
    /// When something has happened.
    Then,
}

impl Often {
    pub const fn words(self) -> &'static str {
        match self {
            Self::Daily => "daily",
            Self::Weekly => "weekly",
            Self::Batch => "a batch",
            Self::Yearly => "a year",
            Self::Then => "when it happens",
        }
    }
}

use At::{CookDay, Curing, Five, Order};
use Often::{Batch, Daily, Then, Weekly, Yearly};

pub const TABLE: &[Row] = &[
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
    // 50 · 3.2 + 30 = 190 min, 65 to heat, 15 for the second joint: out at 11:00; 15 stands, 25 glazes, 55 bakes, 30 steams. At
    // the slow end the 190 are 257 and the bake 15 longer.
    Row {
        number: 32,
        asks: "What day do I cook, and when do I start?",
        often: Batch,
        at: Five,
        keys: &["7"],
        place: "Cook day",
        answer: &[
            "Sat 20 Mar: Birch and Alder in the pot 06:30, in the chill 13:05, at the slow end 14:15",
            "the pot goes on by 10:55; planned 06:30, 4 h 25 min in hand.",
        ],
    },
    Row {
        number: 33,
        asks: "How many sessions? Can I get it into one?",
        often: Batch,
        at: Order,
        keys: &[],
        place: "Timeline, the line under it",
        answer: &["cook days 1 proven"],
    },
    // Stood up, Ø 13.7 and 14.0 cm in one of 32.
    Row {
        number: 34,
        asks: "Will these two go in the pot together?",
        often: Batch,
        at: Five,
        keys: &["7"],
        place: "Cook day",
        answer: &["Tall pot: Birch 3.0 kg, Alder 3.2 kg"],
    },
    Row {
        number: 36,
        asks: "Skewer still tight: what does that push back?",
        often: Then,
        at: Five,
        keys: &["7"],
        place: "Cook day",
        answer: &[
            "11:00 If not tender: leave it in, barely moving, and try again every 20 min. Bake and chill slide with it.",
            "12:10 If not tender: still leave it in. Out by now it is in the chill 14:15",
        ],
    },
    Row {
        number: 37,
        asks: "If the simmer runs over, who is still at home?",
        often: Batch,
        at: Five,
        keys: &["7", "→", "end"],
        place: "Cook day, The whole day",
        answer: &["at the slow end 11:05", "Out: Wren 07:50–16:40 (work)."],
    },
    // Fifteen minutes to heat; Elder in at 10:35 for 50 min, and an hour later at the slow end of its simmer.
    Row {
        number: 38,
        asks: "When is the oven free for the potatoes?",
        often: Batch,
        at: Five,
        keys: &["7", "→", "end"],
        place: "Cook day, Oven",
        answer: &["on from 10:20, taken 10:35 to 12:25 (Elder); free before and after"],
    },
    // The limit is 12.5 h from going into the chill.
    Row {
        number: 39,
        asks: "Can it cool in the pot overnight?",
        often: Batch,
        at: Five,
        keys: &["7", "end"],
        place: "Cook day, Cooling log",
        answer: &["Never left in its liquor to cool overnight", "limit Sun 21 Mar 01:35"],
    },
    Row {
        number: 40,
        asks: "How long till I can slice it?",
        often: Batch,
        at: CookDay,
        keys: &["2"],
        place: "Day, Tomorrow",
        answer: &["Chill shank in iced water, then the fridge (to 21:20)", "Wed 23 Dec 10:00: Slice shank"],
    },
    // 90 min from Sat 20 Mar 12:35.
    Row {
        number: 41,
        asks: "Where do I put the hot hams?",
        often: Batch,
        at: Five,
        keys: &["7"],
        place: "Cook day, Cooling log",
        answer: &["Birch: out 12:35, in Two iced bowls by 14:05 at the latest"],
    },
    // Ten days from Sat 20 Mar; the lunch is Sat 27 Mar.
    Row {
        number: 42,
        asks: "Can I cook this week and eat next?",
        often: Batch,
        at: Five,
        keys: &["8"],
        place: "Freezer",
        answer: &["Birch ham, sliced 12 × 150 g use by Tue 30 Mar", "10 days at 5 °C or under"],
    },
    // 2.9 kg · 0.64 = 1.86 kg; 0.58 to 0.70 of it is 11.2 to 13.5 packs of 150 g.
    Row {
        number: 43,
        asks: "How many packs will I get?",
        often: Batch,
        at: Order,
        keys: &["8"],
        place: "Freezer",
        answer: &["About 17 packs planned", "Big end: 11 to 13 packs by the yield, 1.9 kg."],
    },
    Row {
        number: 44,
        asks: "What weight packs? Who gets which?",
        often: Batch,
        at: Five,
        keys: &["8"],
        place: "Freezer",
        answer: &["Birch ham, sliced 12 × 150 g", "village lunch"],
    },
    // 2.5 kg · 1.01 + 2.3 kg · 0.95 = 4.7 kg.
    Row {
        number: 45,
        asks: "Will the freezer take it tonight?",
        often: Batch,
        at: Five,
        keys: &["8"],
        place: "Freezer, The freezer",
        answer: &["4.7 kg of 25.0 kg of room by this plan.", "Mon 15 Mar: 4.7 kg of the 7.0 kg it freezes in 24 h."],
    },
    Row {
        number: 46,
        asks: "What goes on the label, and what date?",
        often: Batch,
        at: Order,
        keys: &["8"],
        place: "Freezer, On the label",
        answer: &[
            "001–005 Small end, gammon steaks: RAW, cook before eating",
            "006–017 Big end, ham, sliced: COOKED; net weight, about 150 g; packed Mon 4 Jan; use by Wed 13 Jan",
        ],
    },
    // Board, knife and packer: 45 min to clean them through.
    Row {
        number: 47,
        asks: "Raw gammon and ham on one evening?",
        often: Batch,
        at: Order,
        keys: &["G", "2"],
        place: "Day, Have ready",
        answer: &["board, knife and packer are cleaned through between raw and cooked: 45 min"],
    },
    Row {
        number: 48,
        asks: "Will it still be in date when it's sold?",
        often: Weekly,
        at: Five,
        keys: &["8"],
        place: "Freezer",
        answer: &["Alder ham, whole 2.3 kg use by Tue 30 Mar"],
    },
    // Cooked Sun 3 Jan, ten days.
    Row {
        number: 49,
        asks: "Which packs to eat first?",
        often: Weekly,
        at: Order,
        keys: &["8"],
        place: "Freezer, the sentence above it",
        answer: &["Eat first: Big end, 006–017, use by Wed 13 Jan."],
    },
    Row {
        number: 51,
        asks: "What did I do last time, and how did it taste?",
        often: Batch,
        at: CookDay,
        keys: &["A"],
        place: "Last time",
        answer: &["Best so far: Spring, 5.0 of 5.", "corner ★★★★★: good with eggs", "more cider next time"],
    },
    Row {
        number: 52,
        asks: "What did I change between the good one and the salty one?",
        often: Batch,
        at: CookDay,
        keys: &["A"],
        place: "Last time",
        answer: &["Changed: salt down from 3 to 2.5 %."],
    },
    // 230 min for 180, and 200 for 170.
    Row {
        number: 54,
        asks: "My simmer always runs over.",
        often: Batch,
        at: CookDay,
        keys: &["A"],
        place: "Last time",
        answer: &["+28 % +18 %", "The simmer has run over every time: plan with a larger slow end"],
    },
    Row {
        number: 55,
        asks: "Prove to the inspector what was done.",
        often: Then,
        at: CookDay,
        keys: &["9"],
        place: "Record",
        answer: &["shank weighed 2.64 kg", "put right by 2: shank weighed 26.40 kg"],
    },
    Row {
        number: 56,
        asks: "Somebody rang about pack 003: what else came from that tub?",
        often: Then,
        at: CookDay,
        keys: &["8", "↓", "5", "home"],
        place: "Joint",
        answer: &["fillet gammon steaks", "In box, with shank, in fridge."],
    },
    Row {
        number: 57,
        asks: "Which bag of cure went into which tubs?",
        often: Then,
        at: Five,
        keys: &["6"],
        place: "Brine",
        answer: &["5.88 % nitrite, bag SR-22"],
    },
    Row {
        number: 58,
        asks: "Was anything ever out of temperature, and what did we do?",
        often: Yearly,
        at: CookDay,
        keys: &["9"],
        place: "Record, Troubles",
        answer: &["fridge: 8.5 °C for 3 h. Note it and chill; smell at each visit."],
    },
    // 3.0 kg · 0.58 = 1.74 kg: eleven of 150 g that are sure.
    Row {
        number: 60,
        asks: "How many do I promise to the pre-order list?",
        often: Yearly,
        at: Five,
        keys: &["8"],
        place: "Freezer",
        answer: &["Birch: 11 to 14 packs by the yield, 1.9 kg."],
    },
    // As with the first: Thursday noon will do, Friday will not.
    Row {
        number: 61,
        asks: "They're bringing it Friday, not Tuesday: is the date still on?",
        often: Then,
        at: Order,
        keys: &["5"],
        place: "Joint",
        answer: &["the last moment that keeps every date is Thu 17 Dec 12:00."],
    },
];

/// What the screen does not answer: the question, and what does.
pub const NOT_YET: &[(u8, &str, &str)] = &[
    (2, "When do I book the abattoir?", "not yet: collecting is dated, the kill two to seven days before it is not"),
    (
        3,
        "How many joints can I do at once?",
        "not yet; `turnday show tubs --fit 2.4` tries one more joint in every tub",
    ),
    (4, "Can I fit a third bucket?", "`turnday ask tub`"),
    (5, "What size should I ask the butcher to cut?", "`turnday show shopping` says how thick at the most"),
    (7, "How much pork for 14 people and 20 packs?", "`turnday yield --at-table 14`"),
    (9, "What do I buy?", "`turnday show shopping`, by shop and day"),
    (10, "What will it cost a pack?", "`turnday yield --pork-price 7`"),
    (
        16,
        "My bag says 5.88 %, the recipe 6.25.",
        "`K` and Cure changes the bag, `6` then weighs for it; not walked here yet",
    ),
    (23, "Can I go away 12th to 14th?", "`turnday ask \"away 12-14 Mar\"`"),
    (24, "I forgot Wednesday's turn.", "`turnday trouble missed-turn`; `3` says what a late turn costs"),
    (26, "Fridge says 7. Do I worry?", "`turnday trouble warm`; `4` says that it is too warm to cure in"),
    (27, "Power's been off since midnight.", "`turnday trouble power-cut`"),
    (28, "There's froth; it's stringy; it smells.", "`turnday trouble scum` or `ropy`"),
    (30, "Can I put another joint in with these?", "`turnday show tubs --fit 2.4`"),
    (35, "Does it need soaking?", "`turnday trouble salty` once a slice is fried; before that not yet"),
    (
        50,
        "What's left, and of which batch?",
        "not yet: what is eaten is not written down, and one batch is open at a time",
    ),
    (53, "Is my yield getting worse?", "not yet: packs are not weighed into the record"),
    (
        59,
        "Am I allowed to sell this?",
        "no program can say; `p` and `6` give the cautions and the nitrite limit with its source",
    ),
    (
        62,
        "Mum's coming on the 22nd: can one be early?",
        "`K` changes the date, `C` shows what moves; not walked here yet",
    ),
    (63, "Cook's off Tuesday.", "`turnday ask lost-day`"),
    (64, "Someone's given us another leg.", "`turnday ask \"more 2.2 ham\"`; or `K` adds the joint"),
    (65, "What's the least I can do and still be all right?", "`turnday ask binds`"),
];
