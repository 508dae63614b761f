package voice

import (
	"fmt"
	"sync"
	"sync/atomic"
)

// Store keeps decoded clips in a fixed budget of memory, dropping those used
// longest ago, and decodes ahead in one goroutine of its own until Close.
type Store struct {
	pack   *Pack
	budget int
	slots  []slot // one a clip of the pack
	clock  atomic.Int64

	mu   sync.Mutex // guards held, and eviction
	held int        // bytes of decoded clips in slots that are not kept

	queue *queue
	done  chan struct{}
}

// slot is one clip's place in a store.
type slot struct {
	clip     atomic.Pointer[Clip]
	kept     atomic.Bool  // never dropped
	used     atomic.Int64 // the store's clock at the last use
	decoding sync.Mutex   // held while the clip is decoded, so that it is once
}

// NewStore makes a store that holds decoded clips of at most budget bytes, or
// one clip where even that is more.
func NewStore(pack *Pack, budget int) *Store {
	s := &Store{pack: pack, budget: budget, slots: make([]slot, len(pack.manifest.Clips)),
		queue: newQueue(len(pack.manifest.Clips)), done: make(chan struct{})}
	go s.decodeAhead()
	return s
}

// Ready gives a clip if it is decoded, else nil. It takes no lock.
func (s *Store) Ready(id string) *Clip {
	i, ok := s.pack.index[id]
	if !ok {
		return nil
	}
	return s.use(i)
}

// Get gives a clip, decoding it now if it must.
func (s *Store) Get(id string) (*Clip, error) {
	i, ok := s.pack.index[id]
	if !ok {
		return nil, fmt.Errorf("the voice pack has no clip %q", id)
	}
	return s.load(i)
}

// Prefetch asks for clips to be decoded soon, in this order. It does not wait
// for that. Ids the pack lacks are passed over, and so is all of it after
// Close. More than the budget at once pushes the first ones out again.
func (s *Store) Prefetch(ids ...string) { s.ask(ids, false) }

// Urge is Prefetch for clips that are needed before all that wait.
func (s *Store) Urge(ids ...string) { s.ask(ids, true) }

func (s *Store) ask(ids []string, urgent bool) {
	for _, id := range ids {
		if i, ok := s.pack.index[id]; ok && s.use(i) == nil {
			s.queue.add(i, urgent)
		}
	}
}

// Keep keeps these clips once they are decoded, beside the budget, until it is
// called again. Ids the pack lacks are passed over.
func (s *Store) Keep(ids ...string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	keep := make([]bool, len(s.slots))
	for _, id := range ids {
		if i, ok := s.pack.index[id]; ok {
			keep[i] = true
		}
	}
	for i := range s.slots {
		sl := &s.slots[i]
		if c := sl.clip.Load(); c != nil && sl.kept.Load() != keep[i] {
			s.held += c.Bytes()
			if keep[i] {
				s.held -= 2 * c.Bytes()
			}
		}
		sl.kept.Store(keep[i])
	}
	s.makeRoom(0)
}

// Idle reports whether all that was asked for has been decoded.
func (s *Store) Idle() bool { return s.queue.idle() }

// Close stops decoding ahead and waits until it has stopped. Ready and Get
// still work.
func (s *Store) Close() {
	s.queue.close()
	<-s.done
}

func (s *Store) decodeAhead() {
	defer close(s.done)
	for {
		i, ok := s.queue.next()
		if !ok {
			return
		}
		// A clip that does not decode fails again, with its error, in Get.
		_, _ = s.load(i)
	}
}

func (s *Store) use(i int) *Clip {
	c := s.slots[i].clip.Load()
	if c != nil {
		s.slots[i].used.Store(s.clock.Add(1))
	}
	return c
}

func (s *Store) load(i int) (*Clip, error) {
	sl := &s.slots[i]
	sl.decoding.Lock()
	defer sl.decoding.Unlock()
	if c := s.use(i); c != nil {
		return c, nil
	}
	c, err := s.pack.decode(s.pack.manifest.Clips[i])
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if !sl.kept.Load() {
		s.makeRoom(c.Bytes())
		s.held += c.Bytes()
	}
	sl.used.Store(s.clock.Add(1))
	sl.clip.Store(c)
	return c, nil
}

// makeRoom drops the clips used longest ago until size more bytes fit. The
// caller holds mu.
func (s *Store) makeRoom(size int) {
	for s.held > 0 && s.held+size > s.budget {
		var oldest *slot
		for i := range s.slots {
			sl := &s.slots[i]
			if sl.clip.Load() != nil && !sl.kept.Load() && (oldest == nil || sl.used.Load() < oldest.used.Load()) {
				oldest = sl
			}
		}
		s.held -= oldest.clip.Load().Bytes()
		oldest.clip.Store(nil)
	}
}
