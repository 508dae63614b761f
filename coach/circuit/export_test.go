package circuit

// Afresh is Repair without the order of the timetable in progress.
func Afresh(p *Problem, t *Timetable, f Floor, o Options) (*Timetable, error) {
	return repair(p, t, f, o, true)
}
