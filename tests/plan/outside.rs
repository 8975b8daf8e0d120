//! Durations, geometry and brine cover against the trade's worked figures (common practice, no source).
