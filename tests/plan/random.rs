//! Random kitchens: every plan passes the judge, or is refused with reasons.
