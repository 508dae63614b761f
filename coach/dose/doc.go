// Package dose is the load arithmetic of the house: how strong a set shows a
// person to be, what to start with, and what may be proposed next.
//
// It may know coach's words and the protocol's values and no other room; it
// is pure: times come in as arguments, and nothing is read, kept or sent. A
// [Proposal] does nothing by itself. It waits for a named supervisor.
//
// Invariants it keeps:
//   - Strength is a [Range] over equations and over people's misjudgement of
//     what they have left, never one number by itself.
//   - A proposed load is one the clinic owns, or the one already in use.
//   - Loads are compared in whole numbers, so the same history gives the same
//     proposal on every machine.
//   - The rules are tried in one fixed order and the first that fits decides;
//     its name, its reasons and the sessions it looked at are in the proposal.
//   - Nothing goes up after a symptom that no supervisor cleared, after an
//     effort that nobody answered, or on a log that is incomplete.
package dose
