// Package record makes what leaves the desk to be kept or looked into: a
// patient's record as a FHIR R4 bundle, tables as CSV and JSON lines, the
// incident file of one session, a session's note in sentences, and archive
// copies as PDF.
//
// It may know coach and its pure rooms, the journal's lines and the store's
// types, and nothing of databases, pages, the network or a clock: everything
// comes in as values, the moment a record is made included.
//
// Invariants it keeps:
//   - The same values give the same bytes.
//   - A patient's name is written only where the caller gives it.
//   - What nobody knows is left out or said to be unknown, never guessed: a
//     session whose log cannot be trusted says so wherever it appears.
//   - Text that people typed is text wherever it arrives: no cell of a table
//     begins a formula.
//   - Times are in the clinic's zone, with their offset.
package record
