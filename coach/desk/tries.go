package desk

import (
	"strings"
	"sync"
	"time"
)

// How many wrong logins one name from one address, one name, or one address may
// make before it has to wait, and for how long they are remembered. A name
// alone has more, since somebody elsewhere could else keep its owner out.
// Common practice, no source.
const (
	triesOfBoth    = 5
	triesOfName    = 30
	triesOfAddress = 20
	triesKept      = 15 * time.Minute
	triesKnown     = 10_000 // names and addresses remembered at once
)

// tries counts wrong logins per name and per address, in memory: who can
// restart the desk has no need to guess.
type tries struct {
	mu    sync.Mutex
	wrong map[string][]time.Time
}

func newTries() *tries { return &tries{wrong: map[string][]time.Time{}} }

// wait is how long this name from this address has to wait; 0 for not at all.
// A try that may go on is counted as wrong at once, so that many at the same
// time are no way round; right takes it back.
func (t *tries) wait(name, address string, now time.Time) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	name = strings.ToLower(name) // an account's name is known in any case
	most := []int{triesOfBoth, triesOfName, triesOfAddress}
	for i, key := range triesKeys(name, address) {
		if wait := t.left(key, most[i], now); wait > 0 {
			return wait
		}
	}
	for _, key := range triesKeys(name, address) {
		t.add(key, now)
	}
	return 0
}

// triesKeys are what a try is counted against.
func triesKeys(name, address string) [3]string {
	return [3]string{"both " + address + " " + name, "name " + name, "from " + address}
}

// left is how long a key has to wait, after forgetting what is old.
func (t *tries) left(key string, most int, now time.Time) time.Duration {
	at := t.wrong[key]
	for len(at) > 0 && now.Sub(at[0]) >= triesKept {
		at = at[1:]
	}
	if len(at) == 0 {
		delete(t.wrong, key)
		return 0
	}
	t.wrong[key] = at
	if len(at) < most {
		return 0
	}
	return triesKept - now.Sub(at[len(at)-most])
}

func (t *tries) add(key string, now time.Time) {
	if len(t.wrong) >= triesKnown {
		for k := range t.wrong {
			t.left(k, 1, now)
		}
		for k := range t.wrong {
			if len(t.wrong) < triesKnown {
				break
			}
			delete(t.wrong, k)
		}
	}
	t.wrong[key] = append(t.wrong[key], now)
}

// right forgets what was counted against a name from an address, and this try
// of each of them.
func (t *tries) right(name, address string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	keys := triesKeys(strings.ToLower(name), address)
	delete(t.wrong, keys[0])
	for _, key := range keys[1:] {
		if at := t.wrong[key]; len(at) > 0 {
			t.wrong[key] = at[:len(at)-1]
		}
	}
}
