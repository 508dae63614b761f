// Package review turns entries of the log into what was done: per set,
// session, visit and week, with findings worth a supervisor's look. A visit is
// what one person did in one go, at however many places; [Join] has the rules.
//
// It may know coach, dose and protocol and no other room; it is pure and
// takes entries in any order. It decides nothing: what may be proposed is
// dose's matter, and [Log.History] hands it what it needs.
//
// A log can be damaged, doubled, out of order, overlapping or half missing.
// What cannot be trusted is marked, never guessed:
//
//   - An entry met twice counts once. Where one number of an epoch stands for
//     two different entries, the epoch is split where its numbers begin anew
//     if each part is whole (several offline journals in one file look so), and
//     else every session in it is doubtful.
//   - A session is whole when its numbers run from its start to its end without
//     a gap, or to the last entry that the next epoch knows of. Any other is
//     doubtful: it may hide a stop.
//   - Two sessions of one person at the same time are both doubtful.
//   - Nothing done in a doubtful session counts as complete. What argues for
//     caution counts all the same: a stop, a set ended early, a low reserve.
//   - What is doubtful or missing at one place of a visit is doubtful of all of
//     it, and what happened at one concerns what was done at the others.
//   - A session without a trusted time is kept, marked, and put behind all
//     others where a proposal is made, so that nothing rises on it.
package review
