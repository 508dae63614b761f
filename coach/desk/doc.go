// Package desk is the rules of the staff server: who may do what, which plan a
// station gets, who needs somebody now, what may be proposed next.
//
// It knows people and plans through the store, stations through the link, and
// the pure rooms that judge what was done. It knows no sound, no hardware and
// no pages: pages call the methods of [Desk] and show what comes back.
//
// Invariants it keeps:
//   - Every method that somebody calls takes an [Actor] and looks at the one
//     table of actions and roles first; what is not in it is refused.
//   - Every view of a patient, approval, change and login is in the audit trail
//     before its result is given out.
//   - Nothing that no named supervisor approved reaches a station.
//   - A hold is only ever taken away by a supervisor.
//   - Time and chance come from fields, so tests have both in hand.
//
// It decides nothing clinical: limits are the protocol's, decisions the
// supervisor's.
package desk
