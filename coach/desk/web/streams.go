package web

import "sync"

// mostStreams is how many pages of one login are kept up to date at once: more
// than anybody has open, and far fewer than would keep the desk from its work.
const mostStreams = 16

// streams counts the live pages of each login.
type streams struct {
	mu   sync.Mutex
	many map[string]int
}

func (s *streams) open(login string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.many == nil {
		s.many = map[string]int{}
	}
	if s.many[login] >= mostStreams {
		return false
	}
	s.many[login]++
	return true
}

func (s *streams) close(login string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.many[login]--; s.many[login] == 0 {
		delete(s.many, login)
	}
}
