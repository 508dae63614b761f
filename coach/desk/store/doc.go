// Package store keeps what the desk knows, durably: people, staff, plans,
// stations and their logs, attentions, holds, and an audit trail.
//
// It may know coach, the log's lines and the pure rooms whose values it keeps,
// and nothing of pages or the network. It decides nothing about who may do
// what.
//
// # Promises
//
//   - A change that returned without an error is on the disk and outlives
//     kill -9 and a power cut. [Store.Together] makes several changes one.
//   - An entry is stored once, whatever is sent twice, in whatever pieces: the
//     mark of an epoch moves by compare-and-swap in the transaction that
//     inserts.
//   - Nothing that came is dropped unseen. What does not fit the log before it
//     is stored with a [Break] that says so; of two lines with one number the
//     second is kept in its break; a break is mended when what was missing
//     comes after all.
//   - The audit trail is only added to, and chained.
//   - Names of patients are in the table patient alone. Whoever is forgotten
//     leaves a tag, and of each entry the hash, so that logs still verify.
//   - After the first failed write or fsync the store takes no more
//     ([ErrFailed], [Store.Failed]): Linux tells of a failed fsync once and then
//     forgets the pages. The server leaves.
//
// # Several programs
//
// Commands run beside the server. A change takes the write lock at once and
// waits up to half a minute for another program's; each begins by raising the
// one version in the table state, which [Store.Changed] watches. Everybody who
// has the folder open shares desk.lock; a restore and a new schema need it
// alone. The server holds desk.serving, of which there is one.
//
// # On the disk
//
// desk.db (with -wal and -shm beside it) is SQLite in WAL mode with
// synchronous=FULL, which is asserted when it is opened, and psow=0, since a
// card may spoil the whole sector it was writing to. SQLite's own checkpoint is
// switched off because it keeps the error of its fsync to itself; the store
// checkpoints after 64 commits or 4 MB, and looks. desk-before-schema-N.db is the backup
// made before the schema became N, desk-before-restore-N.db the store that a
// backup took the place of; nothing ever deletes either.
//
// The schema, in migrations, has BIGINT, INTEGER and TEXT only, and ids that it
// gives out itself, so that PostgreSQL takes the same migrations and the same
// statements; one conformance suite runs over both. Times are milliseconds
// since 1970 in UTC, days are text, what has a shape of its own is JSON. A log's
// line is kept as it came, byte for byte; the columns beside it are only what
// is looked for by.
//
// # The order of time
//
// An entry stands where its own wall time puts it. One whose station trusted no
// clock is dated by the nearest contact of the same boot, less certain the
// further away that is, also when the contact comes later than the entry; until
// then it stands where it was received.
package store
