// Package protocol holds every clinical limit of the house as a named value
// with its unit, its sources, how sure we are of them, and a place for the
// clinic's own sign-off.
//
// The defaults are a file of the same format that a clinic writes
// (default.toml, `format = "protocol/1"`), so nothing clinical is a constant in
// code. A clinic's file overrides any value:
//
//	format  = "protocol/1"
//	name    = "Quayside Heart Health, resistance work"
//	edition = "2026-02"
//
//	[sign_off]
//	by = "Dr N. Adeyemi"
//	on = 2026-02-01
//
//	[[limit]]
//	key    = "rest-floor"
//	value  = 45
//	source = [{ name = "our policy 12", edition = "2026", says = "45 s at least", confidence = "the clinic's own" }]
//
//	[[condition]]
//	key     = "device"
//	verdict = "may start"
//
// The package reads what it is given as text and touches no file; it knows
// coach and coach/strict and no other room, and decides nothing: it says what
// the limit is and where it comes from. It is no substitute for the judgement
// of licensed staff.
//
// Invariants it keeps:
//   - A Protocol is immutable and has every key of this package.
//   - A value lies within what a clinic may set, and values that belong
//     together are in order; a file that says otherwise is refused whole.
//   - Where sources disagree they stand side by side in the value, the one
//     that is followed first; a clinic's value keeps the default's sources.
//   - The fingerprint changes exactly when a value or a verdict does.
package protocol
