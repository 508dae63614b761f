package record

import (
	"fmt"
	"slices"

	"evenbell/coach"
	"evenbell/coach/journal"
)

// Chain is what re-hashing a run of one epoch's entries came to.
type Chain struct {
	Epoch   string   `json:"epoch"`
	First   int64    `json:"first"` // seq
	Last    int64    `json:"last"`
	Entries int      `json:"entries"`
	Before  string   `json:"before"` // the hash it begins with
	After   string   `json:"after"`  // the hash computed for the last entry
	Holds   bool     `json:"holds"`
	Wrong   []string `json:"wrong"` // in plain words
}

// Chains hashes the lines of entries again, epoch by epoch, from the hashes
// before the first of each, and from one epoch to the next where both are
// given. Entries of an epoch come in order of their number.
func Chains(entries []Entry, before map[string]journal.Hash) []Chain {
	out := []Chain{}
	at := map[string]int{}
	hashes := map[string]journal.Hash{}
	for _, e := range entries {
		i, ok := at[e.Epoch]
		if !ok {
			i = len(out)
			at[e.Epoch] = i
			hashes[e.Epoch] = before[e.Epoch]
			out = append(out, Chain{Epoch: e.Epoch, First: e.Seq, Last: e.Seq - 1, Before: before[e.Epoch].String(), Wrong: []string{}})
			out[i].begin(e, before)
		}
		hashes[e.Epoch] = out[i].link(e, hashes[e.Epoch])
	}
	for i := range out {
		out[i].After = hashes[out[i].Epoch].String()
	}
	follow(out, entries)
	for i := range out {
		out[i].Holds = len(out[i].Wrong) == 0
	}
	return out
}

// follow checks what an epoch's first entry says of the epoch before it.
func follow(chains []Chain, entries []Entry) {
	for _, e := range entries {
		if e.Seq != 1 {
			continue
		}
		got, err := e.Record.Entry()
		d, ok := got.Data.(*coach.StartData)
		if err != nil || !ok {
			continue
		}
		before := slices.IndexFunc(chains, func(c Chain) bool { return c.Epoch == d.PreviousEpoch })
		own := slices.IndexFunc(chains, func(c Chain) bool { return c.Epoch == e.Epoch })
		if before >= 0 && own >= 0 {
			chains[own].follows(chains[before], d)
		}
	}
}

func (c *Chain) follows(before Chain, says *coach.StartData) {
	switch {
	case says.PreviousSeq > before.Last:
		c.wrong("the epoch before it ended at entry %d, and what is here of it ends at %d: its newest entries are missing", says.PreviousSeq, before.Last)
	case says.PreviousSeq < before.Last:
		c.wrong("the epoch before it is said to end at entry %d, and goes on to %d", says.PreviousSeq, before.Last)
	case says.PreviousHash != before.After:
		c.wrong("it names another hash for the end of the epoch before it")
	}
}

func (c *Chain) wrong(format string, args ...any) {
	c.Wrong = append(c.Wrong, fmt.Sprintf(format, args...))
}

func (c *Chain) begin(e Entry, before map[string]journal.Hash) {
	hash, known := before[e.Epoch]
	switch {
	case e.Seq == 1 && known && hash != (journal.Hash{}):
		c.wrong("an epoch begins with the zero hash, and this one is said to begin with another")
	case e.Seq > 1 && !known:
		c.wrong("the hash before entry %d is not known, so nothing ties it to what came before", e.Seq)
	}
}

// link adds an entry, and gives the hash after it.
func (c *Chain) link(e Entry, before journal.Hash) journal.Hash {
	switch {
	case e.Seq <= c.Last:
		c.wrong("entry %d stands there twice", e.Seq)
	case e.Seq != c.Last+1:
		c.wrong("entries %d to %d are missing", c.Last+1, e.Seq-1)
	}
	if got, err := e.Record.Entry(); err != nil {
		c.wrong("entry %d: %v", e.Seq, err)
	} else if got.Epoch != e.Epoch || got.Seq != e.Seq {
		c.wrong("entry %d: its line says entry %d of epoch %s", e.Seq, got.Seq, got.Epoch)
	}
	hash := before.Next(e.Line)
	if hash != e.Hash {
		c.wrong("entry %d: its line does not give its hash; it, or something before it, was changed", e.Seq)
	}
	c.Last, c.Entries = e.Seq, c.Entries+1
	return e.Hash // go on from what is stored, so that one fault is said once
}
