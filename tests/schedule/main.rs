//! The solver against the world outside: the plain checker, brute force, and published project-scheduling instances.

mod brute;
mod chains;
mod conflicts;
mod crowded;
mod generator;
mod hostile;
mod inquiries;
mod kitchen;
mod kitchens;
mod levels_held;
mod milestones;
mod published;
mod queues;
mod reference;
mod second;
mod slack;
mod sound;
