// Package journal keeps what happened: as JSON lines that any program can
// read, and as the durable log on the device.
//
// It may know coach's entries and nothing else of ours: not what a session
// is, not who reads the log, not where sound comes from. It invents nothing:
// an entry is what the caller gave, numbered and dated.
//
// # Promises
//
//   - An entry whose number [Journal.Append] has returned is on the disk and
//     outlives kill -9 and a power cut.
//   - (epoch, seq) is never used twice. Every start of the program begins a
//     new random epoch, so not even an old image of the card put back into
//     the slot makes a number come again, and no network is needed for it.
//   - Damage is found, never handed out as an entry: [CorruptError] says in
//     which epoch and at which number.
//   - After the first failed write or fsync the journal takes no more.
//     Linux tells of a failed fsync once and then forgets the pages, so a
//     second fsync that succeeds proves nothing. The caller silences, holds,
//     says so, and leaves the process.
//   - The audio goroutine never waits for the disk: it speaks to a
//     [Recorder], which queues.
//
// # On the disk
//
// A folder holds four things.
//
// journal.db (with -wal and -shm beside it) is SQLite in WAL mode with
// synchronous=FULL, so that a commit is one write to the end of the log and
// one fsync; NORMAL leaves that fsync out and loses acknowledged entries at a
// power cut. psow=0, since a memory card may spoil the whole sector it was
// writing to: a commit then shares no sector with the next. SQLite's
// own checkpoint after 64 pages is switched off because it keeps the error of
// its fsync to itself; the journal checkpoints after 16 commits and looks.
//
//	epoch  ordinal   1, 2, … in the order of the starts
//	       epoch     32 hexadecimal digits, random
//	       acked     the number up to which the desk has said it has them
//	       kept      the first number not yet deleted
//	       before    the chain's hash before that entry
//	       crc       CRC-32C over the row
//	entry  ordinal   the epoch it belongs to
//	       seq       1, 2, … without gaps
//	       line      the entry as one JSON line, the form of [Line]
//	       hash      SHA-256 over the hash before it and the line
//	       crc       CRC-32C over epoch, seq, line and hash
//
// The checksum says that this entry is damaged; the chain says that none was
// taken out, put in or exchanged. An epoch's chain begins with zeros, and its
// first entry, "start", names the epoch before, the number and the hash it
// ended with, so the chain runs on through all of them, and a tail that was
// lost shows as a break at the desk.
//
// journal.mark says how far the log had come: two slots, written in turn
// after each commit and never synced. SQLite ends its log at the first frame
// whose checksum is wrong and says nothing, so a single flipped bit would
// take the newest entries with it; the mark then points beyond the end. It is
// written after the fsync of what it names, so a power cut can leave it
// behind the log, never ahead.
//
// journal.lock is held while the program runs: there is one writer.
//
// journal-damaged-N is a folder with a damaged log that [SetAside] moved out
// of the way. Nothing ever deletes it.
package journal
