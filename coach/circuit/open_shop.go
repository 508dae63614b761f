package circuit

import "fmt"

// OpenShop is the bare problem: seconds[patient][place], 0 for not visited,
// and between two visits of a patient at least the longer of rest and walk.
func OpenShop(seconds [][]int, rest, walk int) (*Problem, error) {
	if len(seconds) == 0 || len(seconds[0]) == 0 {
		return nil, fmt.Errorf("there is nobody or no place in it; seconds is a list of patients, each a list of seconds by place")
	}
	if rest < 0 || walk < 0 || rest > longest || walk > longest {
		return nil, fmt.Errorf("rest %d and walk %d; each from 0 to %d seconds", rest, walk, longest)
	}
	places := len(seconds[0])
	p := &Problem{Walk: make([][]int, places)}
	for i := range places {
		p.Places = append(p.Places, Place{Name: fmt.Sprintf("place %d", i+1), Capacity: 1})
		for range places {
			p.Walk[i] = append(p.Walk[i], walk)
		}
	}
	for j, row := range seconds {
		who := Patient{Tag: fmt.Sprintf("patient %d", j+1), Rest: rest}
		if len(row) != places {
			return nil, fmt.Errorf("patient %d has %d places, patient 1 has %d; all have the same", j+1, len(row), places)
		}
		for i, s := range row {
			if s < 0 || s > longest {
				return nil, fmt.Errorf("patient %d at place %d takes %d seconds; from 0 (not visited) to %d", j+1, i+1, s, longest)
			}
			if s > 0 {
				who.Visits = append(who.Visits, Visit{Name: p.Places[i].Name, Where: []Option{{Place: i, Item: s}}})
			}
		}
		p.Patients = append(p.Patients, who)
	}
	return p, nil
}

// longest is more seconds than anything in a class takes: a day.
const longest = 86400
