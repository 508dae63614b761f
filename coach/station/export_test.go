package station

import "time"

// Settle waits until the voice has decoded all it was asked to.
func (v *Voice) Settle() {
	for !v.store.Idle() {
		time.Sleep(100 * time.Microsecond)
	}
}
