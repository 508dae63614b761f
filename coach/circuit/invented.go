package circuit

import (
	"fmt"
	"math/rand/v2"

	"evenbell/coach"
)

// Invented is a made-up class to measure and test with: every patient warms
// up, does up to eight items at different places, the mat in one go, and cools
// down; they arrive within ten minutes.
func Invented(seed uint64, patients, places int) *Problem {
	r := rand.New(rand.NewPCG(seed, uint64(patients<<8+places)))
	p := &Problem{}
	for i := range places {
		p.Places = append(p.Places, Place{Name: fmt.Sprintf("place %d", i+1), Capacity: 1})
	}
	area := max(2, patients/3)
	p.Places = append(p.Places, Place{Name: "warm-up area", Capacity: area}, Place{Name: "cool-down area", Capacity: area})
	for a := range p.Places {
		p.Walk = append(p.Walk, make([]int, len(p.Places)))
		for b := range p.Places {
			p.Walk[a][b] = 5 * min(6, abs(a-b))
		}
	}
	muscles := []coach.Muscle{coach.Chest, coach.UpperBack, coach.Quadriceps, coach.Biceps, coach.Shoulders, coach.Calves}
	for j := range patients {
		who := Patient{Tag: fmt.Sprintf("P%d", j+1), Rest: 60, Arrives: 60 * r.IntN(11)}
		who.Visits = append(who.Visits, Visit{Name: "warm-up", Kind: WarmUp, Where: []Option{{Place: places, Item: 300}}})
		for n, i := range r.Perm(places)[:min(8, places)] {
			m := muscles[r.IntN(len(muscles))]
			who.Visits = append(who.Visits, Visit{Name: fmt.Sprintf("item %d", n+1), Mat: i >= places-2, First: m, Last: m,
				Where: []Option{{Place: i, Lead: 10, Item: 90 + r.IntN(90)}}})
		}
		who.Visits = append(who.Visits, Visit{Name: "cool-down", Kind: CoolDown, Where: []Option{{Place: places + 1, Item: 300}}})
		p.Patients = append(p.Patients, who)
	}
	return p
}

func abs(n int) int { return max(n, -n) }
