// Package powercut is a disk that forgets: a file system, mounted through
// FUSE, that keeps what was synced and loses at a power cut, sector by
// sector and in any order, what was not. It exists to prove that a program
// which says "this is on the disk" is right, and is used by tests alone. It
// knows nothing of ours.
//
// What it assumes of a disk is the worst that is still a disk:
//
//   - A write is kept by fsync of its file and by nothing else. At a cut each
//     512-byte sector of the others is there or is not.
//   - A sector that was being written may come back as rubbish, with what
//     stood in it before.
//   - A name (made, taken away, changed) is kept by fsync of the folder. At a
//     cut the first few of the others are there, since file systems log names
//     in order.
//   - After a failed fsync what it should have kept is still to be read, and
//     is never written, even if the next fsync succeeds: that is what Linux does.
//
// The program under test must be another process than the one that mounts:
// a page fault on a mapped file of this disk would otherwise stop the very
// program that has to answer it.
package powercut

import (
	"bytes"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"syscall"
)

const sector = 512

// OpKind is a kind of change to a disk.
type OpKind string

// The changes.
const (
	Write    OpKind = "write"
	Truncate OpKind = "truncate"
	Sync     OpKind = "sync" // of a file or of the folder
	Name     OpKind = "name" // a file made, renamed or removed
)

// Op is a change about to be made.
type Op struct {
	Kind  OpKind
	File  string // its name when it was made; empty for the folder
	N     int    // changes of any kind so far, this one included
	Syncs int    // syncs so far, this one included where it is one
	Grows bool   // whether a write needs room that the file does not have yet
}

// Disk is a file system of one folder. Its methods may be called by several
// goroutines.
type Disk struct {
	mu      sync.Mutex
	files   map[string]*file // the names a program sees
	kept    map[string]*file // the names that would outlive a cut
	pending []func(map[string]*file)
	before  func(Op) syscall.Errno
	n, sync int
	inodes  uint64
	dead    bool
}

// file has what a program reads, what is on the disk, and the way from one to
// the other.
type file struct {
	made    string
	inode   uint64
	now     []byte
	disk    []byte
	pending []change
}

// change is a write, or a new size where data is nil.
type change struct {
	at   int64
	data []byte
}

// New gives an empty disk.
func New() *Disk { return &Disk{files: map[string]*file{}, kept: map[string]*file{}} }

// Before sets what is asked before every change, outside the disk's lock: it
// may wait, cut the power, or return an error that the change then fails
// with. A change that fails is not made.
func (d *Disk) Before(f func(Op) syscall.Errno) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.before = f
}

// Cut fails the power: from now on nothing is changed and every operation
// ends in EIO.
func (d *Disk) Cut() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.dead = true
}

// change asks Before and then makes a change.
func (d *Disk) change(op Op, size int64, f *file, make, fail func()) syscall.Errno {
	d.mu.Lock()
	d.n++
	if op.Kind == Sync {
		d.sync++
	}
	op.N, op.Syncs, op.Grows = d.n, d.sync, f != nil && size > int64(len(f.now))
	before := d.before
	d.mu.Unlock()

	var errno syscall.Errno
	if before != nil {
		errno = before(op)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	switch {
	case d.dead:
		return syscall.EIO
	case errno != 0:
		fail()
		return errno
	}
	make()
	return 0
}

func nothing() {}

func (d *Disk) write(f *file, data []byte, at int64) syscall.Errno {
	c := change{at, bytes.Clone(data)}
	end := at + int64(len(data))
	return d.change(Op{Kind: Write, File: f.made}, end, f, func() {
		f.now, f.pending = c.apply(f.now), append(f.pending, c)
	}, nothing)
}

func (d *Disk) truncate(f *file, size int64) syscall.Errno {
	c := change{at: size}
	return d.change(Op{Kind: Truncate, File: f.made}, size, f, func() {
		f.now, f.pending = c.apply(f.now), append(f.pending, c)
	}, nothing)
}

func (d *Disk) syncFile(f *file) syscall.Errno {
	forget := func() { f.pending = nil }
	return d.change(Op{Kind: Sync, File: f.made}, 0, nil, func() {
		for _, c := range f.pending {
			f.disk = c.apply(f.disk)
		}
		forget()
	}, forget)
}

func (d *Disk) syncFolder() syscall.Errno {
	forget := func() { d.pending = nil }
	return d.change(Op{Kind: Sync}, 0, nil, func() {
		for _, rename := range d.pending {
			rename(d.kept)
		}
		forget()
	}, forget)
}

// rename makes a change of names now, and on the disk when the folder is synced.
func (d *Disk) rename(name string, do func(map[string]*file)) syscall.Errno {
	return d.change(Op{Kind: Name, File: name}, 0, nil, func() {
		do(d.files)
		d.pending = append(d.pending, do)
	}, nothing)
}

func (c change) apply(to []byte) []byte {
	if c.data == nil {
		return resize(to, c.at)
	}
	if end := c.at + int64(len(c.data)); end > int64(len(to)) {
		to = resize(to, end)
	}
	copy(to[c.at:], c.data)
	return to
}

func resize(b []byte, size int64) []byte {
	if size <= int64(len(b)) {
		return b[:size]
	}
	return append(b, make([]byte, size-int64(len(b)))...)
}

// Reboot is the disk as it is found after a power cut now. The dice decide
// what of the unsynced is there.
func (d *Disk) Reboot(dice *rand.Rand) *Disk {
	d.mu.Lock()
	defer d.mu.Unlock()
	names := maps.Clone(d.kept)
	for _, rename := range d.pending[:dice.IntN(len(d.pending)+1)] {
		rename(names)
	}
	after := New()
	share := dice.Float64() // of the sectors, written before the cut
	for _, name := range slices.Sorted(maps.Keys(names)) {
		after.inodes++
		content := names[name].afterCut(dice, share)
		f := &file{made: name, inode: after.inodes, now: content, disk: bytes.Clone(content)}
		after.files[name], after.kept[name] = f, f
	}
	return after
}

func (f *file) afterCut(dice *rand.Rand, share float64) []byte {
	b := bytes.Clone(f.disk)
	var torn []int64
	for _, c := range f.pending {
		for _, part := range c.sectors() {
			if dice.Float64() >= share {
				continue
			}
			b = part.apply(b)
			if part.data != nil && dice.IntN(8) == 0 {
				torn = append(torn, part.at/sector*sector)
			}
		}
	}
	for _, at := range torn {
		for i := at; i < min(at+sector, int64(len(b))); i++ {
			b[i] = byte(dice.Uint32())
		}
	}
	return b
}

// sectors cuts a write where the sectors end.
func (c change) sectors() []change {
	if c.data == nil {
		return []change{c}
	}
	var out []change
	for at := c.at; at < c.at+int64(len(c.data)); {
		end := min((at/sector+1)*sector, c.at+int64(len(c.data)))
		out = append(out, change{at, c.data[at-c.at : end-c.at]})
		at = end
	}
	return out
}

// CopyTo writes what a program would read now to a real folder.
func (d *Disk) CopyTo(dir string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	for name, f := range d.files {
		if err := os.WriteFile(filepath.Join(dir, name), f.now, 0o600); err != nil {
			return err
		}
	}
	return nil
}
