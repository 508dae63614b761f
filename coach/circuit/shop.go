package circuit

// shop is a problem laid out for the search: visits are numbered through, and
// an area for several patients is as many lanes, each for one.
type shop struct {
	p      *Problem
	visits []visit
	first  []int // of each patient, the number of the first visit; one more at the end
	place  []int // of each lane
	rules  []*rules
	narrow []int // of each patient, a gap no gap between two visits is less than
	since  []int // of each patient, when the next visit can begin at the soonest
	begun  []int // of each visit, when it began; none where it has not
	walk   []int // [from*places+to]
}

// visit is a visit with the lanes it can be in.
type visit struct {
	patient, nth int
	work         bool
	rest         int // of the patient
	choices      []choice
}

// choice is one lane for a visit.
type choice struct {
	lane   int
	option Option
	length int
}

func newShop(p *Problem) *shop {
	s := &shop{p: p}
	lanes := make([][]int, len(p.Places))
	for i, place := range p.Places {
		for range min(place.Capacity, len(p.Patients)) {
			lanes[i] = append(lanes[i], len(s.place))
			s.place = append(s.place, i)
		}
	}
	for _, row := range p.Walk {
		s.walk = append(s.walk, row...)
	}
	for j, who := range p.Patients {
		s.first = append(s.first, len(s.visits))
		s.rules = append(s.rules, newRules(who, nil))
		s.since = append(s.since, who.Arrives)
		for n, v := range who.Visits {
			out := visit{patient: j, nth: n, work: v.Kind == Work, rest: who.Rest}
			for _, o := range v.Where {
				for _, lane := range lanes[o.Place] {
					out.choices = append(out.choices, choice{lane, o, o.Lead + o.Item})
				}
			}
			s.visits = append(s.visits, out)
		}
	}
	s.first = append(s.first, len(s.visits))
	s.begun = fill(len(s.visits), none)
	for j := range p.Patients {
		s.narrow = append(s.narrow, s.narrowest(j))
	}
	return s
}

func (s *shop) narrowest(patient int) int {
	least := -1
	a, b := s.of(patient)
	for u := a; u < b; u++ {
		for v := a; v < b; v++ {
			if g := s.leastGap(u, v); u != v && (least < 0 || g < least) {
				least = g
			}
		}
	}
	return max(0, least)
}

// of are the numbers of a patient's visits: from a to before b.
func (s *shop) of(patient int) (a, b int) { return s.first[patient], s.first[patient+1] }

// gap is the least time between two visits of one patient.
func (s *shop) gap(u int, cu *choice, v int, cv *choice) int {
	gap := s.walk[cu.option.Place*len(s.p.Places)+cv.option.Place]
	if a := &s.visits[u]; a.work && s.visits[v].work {
		gap = max(gap, a.rest-cv.option.Lead)
	}
	return gap
}

// shortest is the least a visit takes wherever it is.
func (v *visit) shortest() int {
	least := v.choices[0].length
	for _, c := range v.choices {
		least = min(least, c.length)
	}
	return least
}
