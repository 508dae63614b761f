package station

import "time"

// Settle waits until the voice has decoded all it was asked to.
func (v *Voice) Settle() {
	for !v.store.Idle() {
		time.Sleep(100 * time.Microsecond)
	}
}

// KeepAll has everything decoded from now on, so that nothing is decoded while
// a benchmark looks.
func (v *Voice) KeepAll() {
	var ids []string
	for _, c := range v.pack.Manifest().Clips {
		ids = append(ids, c.ID)
	}
	v.store.Keep(ids...)
	v.store.Prefetch(ids...)
	v.Settle()
}
