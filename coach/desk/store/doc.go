// Package store keeps what the desk knows, durably: people, staff, plans,
// stations and their logs, attentions, holds, and an audit trail.
//
// It may know coach, the log's lines and the pure rooms whose values it keeps,
// and nothing of pages or the network. It decides nothing about who may do
// what.
//
// The schema uses BIGINT, INTEGER and TEXT only, so that SQLite and PostgreSQL
// take the same migrations and the same statements; one conformance suite runs
// over both. Times are milliseconds since 1970 in UTC, days are text, what has
// a shape of its own is JSON.
//
// Invariants it keeps:
//   - An entry is stored once, whatever is sent twice: the mark of an epoch
//     moves by compare-and-swap in the transaction that inserts.
//   - What is acknowledged is on the disk.
//   - The audit trail is only added to, and chained.
//   - Names of people are in patient and staff alone.
package store
