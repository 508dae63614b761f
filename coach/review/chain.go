package review

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"

	"evenbell/coach"
)

// chain is the entries of one epoch, in order of number, none twice.
type chain struct {
	entries []*coach.Entry
	// torn is true where one number stands for two different entries, so that
	// nobody can say which of them happened.
	torn bool
}

// epochs are the entries by epoch, in the order given, epochs in the order in
// which they are first met.
func epochs(entries []coach.Entry) [][]*coach.Entry {
	place := map[string]int{}
	var out [][]*coach.Entry
	for i := range entries {
		e := &entries[i]
		at, ok := place[e.Epoch]
		if !ok {
			at = len(out)
			place[e.Epoch] = at
			out = append(out, nil)
		}
		out[at] = append(out[at], e)
	}
	return out
}

// untangle sorts one epoch's entries and drops those met twice. An epoch whose
// numbers were used again is split into its parts.
func (d *Digest) untangle(entries []*coach.Entry) []chain {
	kept, twice, conflict := dropDoubles(entries)
	if twice > 0 {
		d.Marks = append(d.Marks, Mark(fmt.Sprintf("%d entries were there twice and count once", twice)))
	}
	if !conflict {
		if !slices.IsSortedFunc(kept, bySeq) {
			d.Marks = append(d.Marks, "entries were out of order and have been sorted")
			slices.SortStableFunc(kept, bySeq)
		}
		return []chain{{entries: kept}}
	}
	if parts, ok := split(kept); ok {
		d.Marks = append(d.Marks, Mark(fmt.Sprintf("the numbers of one epoch begin anew %d times; each part is read by itself", len(parts)-1)))
		return parts
	}
	d.Marks = append(d.Marks, "one number of an epoch stands for two different entries; its sessions can't be trusted")
	slices.SortStableFunc(kept, bySeq)
	return []chain{{entries: kept, torn: true}}
}

func bySeq(a, b *coach.Entry) int { return cmp.Compare(a.Seq, b.Seq) }

// dropDoubles drops entries that were met before, and tells whether a number
// stands for entries that differ.
func dropDoubles(entries []*coach.Entry) (kept []*coach.Entry, twice int, conflict bool) {
	if rising(entries) {
		return entries, 0, false
	}
	bySeq := make(map[int64][]*coach.Entry, len(entries))
	kept = make([]*coach.Entry, 0, len(entries))
	for _, e := range entries {
		met := bySeq[e.Seq]
		if slices.ContainsFunc(met, func(o *coach.Entry) bool { return reflect.DeepEqual(e, o) }) {
			twice++
			continue
		}
		conflict = conflict || len(met) > 0
		bySeq[e.Seq] = append(met, e)
		kept = append(kept, e)
	}
	return kept, twice, conflict
}

// rising reports whether every number is greater than the one before it, as in
// every log that nothing happened to.
func rising(entries []*coach.Entry) bool {
	for i := 1; i < len(entries); i++ {
		if entries[i].Seq <= entries[i-1].Seq {
			return false
		}
	}
	return true
}

// split cuts entries where their numbers begin anew; false where a part begins
// neither at the first number nor with a session, or has a gap, so that nobody
// can say which entry belongs to which part.
func split(entries []*coach.Entry) ([]chain, bool) {
	var out []chain
	for i, e := range entries {
		follows := i > 0 && e.Seq == entries[i-1].Seq+1
		switch {
		case !follows && (e.Seq == 1 || e.Kind == coach.EntrySessionStart):
			out = append(out, chain{})
		case !follows:
			return nil, false
		}
		last := &out[len(out)-1]
		last.entries = append(last.entries, e)
	}
	return out, true
}

// ends notes what a chain knows of the ends of epochs before it.
func (d *Digest) ends(c chain) {
	for _, e := range c.entries {
		if s, ok := e.Data.(*coach.StartData); ok && s.PreviousEpoch != "" {
			d.Ends[s.PreviousEpoch] = s.PreviousSeq
		}
	}
}
