package journal

import (
	"fmt"
	"time"

	"golang.org/x/sys/unix"
)

const (
	// SessionBytes is room for the longest session, and then some: twelve
	// exercises of five sets of fifteen repetitions, each confirmed, with a
	// press a second for two hours, is under 10,000 entries of about 600
	// bytes with hash and tree, and SQLite's log holds a part of it twice.
	SessionBytes = 16 << 20

	// BusyDayBytes is what a day is taken to need until the log itself shows
	// more: sixteen ordinary sessions of 600 entries.
	BusyDayBytes = 6 << 20
)

// Space is how much room a log has.
type Space struct {
	Free   int64 // bytes: on the file system, and inside the file where entries were deleted
	PerDay int64 // bytes a day needs: BusyDayBytes, or what this log took on average if that is more
}

// DaysLeft is the number of whole days for which there is room.
func (s Space) DaysLeft() int { return int(max(0, s.Free-SessionBytes) / s.PerDay) }

// WholeSession reports whether a session could be logged from its beginning
// to its end, however long it is.
func (s Space) WholeSession() bool { return s.Free >= SessionBytes }

// Space asks the file system and the log itself.
func (r *Reader) Space() (Space, error) {
	var fs unix.Statfs_t
	if err := unix.Statfs(r.dir, &fs); err != nil {
		return Space{}, fmt.Errorf("asking for the free space at %s: %w", r.dir, err)
	}
	var page, pages, unused int64
	err := r.store.db.QueryRow(`SELECT page_size, page_count, freelist_count FROM pragma_page_size, pragma_page_count, pragma_freelist_count`).Scan(&page, &pages, &unused)
	if err != nil {
		return Space{}, fmt.Errorf("asking for the log's size: %w", corrupt(err))
	}
	days, err := r.days()
	if err != nil {
		return Space{}, err
	}
	s := Space{Free: int64(fs.Bavail)*int64(fs.Bsize) + page*unused, PerDay: BusyDayBytes}
	if days >= 1 {
		s.PerDay = max(s.PerDay, page*(pages-unused)/days)
	}
	return s, nil
}

// days is how many days the kept entries reach over, rounded up; 0 where the
// clock was not trusted at both ends.
func (r *Reader) days() (int64, error) {
	oldest, err := r.After(Position{}, 1)
	if err != nil {
		return 0, err
	}
	h, err := r.Head()
	if err != nil {
		return 0, err
	}
	newest, err := r.After(Position{h.Epoch, h.Seq - 1}, 1)
	if err != nil || len(oldest) == 0 || len(newest) == 0 {
		return 0, err
	}
	from, err1 := oldest[0].Entry()
	to, err2 := newest[0].Entry()
	if err1 != nil || err2 != nil || from.Wall == nil || to.Wall == nil {
		return 0, nil
	}
	return int64((to.Wall.Sub(*from.Wall) + 24*time.Hour - 1) / (24 * time.Hour)), nil
}
