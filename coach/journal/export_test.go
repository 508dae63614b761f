package journal

// WithSynchronous opens a journal as no program may: the proofs show that
// anything less than FULL loses what it has acknowledged.
func WithSynchronous(level string) Option { return func(o *options) { o.synchronous = level } }

// Trusted is the rule by which SystemClock believes a wall clock.
var Trusted = trusted

// InBoot makes the journal write as if the machine had been started another
// time.
func (j *Journal) InBoot(id string) { j.boot = id }
