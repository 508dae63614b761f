// Package screening judges whether a patient may start on a day, from answers
// and measurements, against the protocol.
//
// It may know coach and protocol and no other room; it is pure. It never
// diagnoses: the outcome is "may start", "ask the supervisor" or "not today",
// each line with the value, the limit and where the limit comes from.
//
// Invariants it keeps:
//   - What was not asked or measured is said to be missing and never taken as
//     well: where it is needed, the supervisor is asked.
//   - The outcome is the worst of its lines.
//   - A condition that a supervisor has accepted for this patient is shown and
//     asks no more; one that says "not today" can't be accepted away.
package screening
