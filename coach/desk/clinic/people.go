package clinic

import (
	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/screening"
)

// Name and Zone are the invented clinic's own.
const (
	Name = "Quayside Heart Health"
	Zone = "Europe/Dublin"
	// Telephone is from the range that Ireland's regulator keeps free for
	// drama: 020 91x xxxx (from memory).
	Telephone = "020 912 0456"
	// Owned is what stands in the invented rack.
	Owned = "1, 1.5, 2, 2.5, 3, 4, 5, 6 kg; band 1, 2, 3"
)

// Person is one invented patient, with what happened to them and how they
// come.
type Person struct {
	Tag, Name string
	Record    store.Record
	Programme string         // a built-in one of the catalogue
	Days      []int          // of the week, from Monday = 0
	Misses    float64        // share of visits
	Since     int            // weeks ago of the first visit
	Taps      bool           // confirms repetitions
	Mishaps   map[int]Mishap // by visit, from the latest: 0 is the last one
}

// People are the invented patients as of a day: every date in them is before it.
func People(today coach.Day) []Person {
	ago := func(days int) coach.Day { return today.AddDays(-days) }
	yes := func(n int) *int { return &n }
	mets := func(m float64) *float64 { return &m }
	record := func(born, call string, events ...store.PastEvent) store.Record {
		return store.Record{Born: coach.Day(born), Call: call, Guide: coach.GuideBoth, Events: events, Wanted: 2}
	}
	ps := []Person{
		{Tag: "K4", Name: "Maeve Tierney", Programme: "quay-mat", Days: []int{0, 3}, Since: 12, Misses: 0.05, Taps: true,
			Record: record("1958-04-17", "heron", store.PastEvent{Day: ago(190), What: "Heart attack; stent the same day"})},
		{Tag: "L7", Name: "Anselm Brandt", Programme: "pier-chair", Days: []int{0, 3}, Since: 12, Misses: 0.1,
			Record:  record("1949-11-02", "maple", store.PastEvent{Day: ago(240), What: "Bypass surgery, three vessels"}),
			Mishaps: map[int]Mishap{9: StopInSet}},
		{Tag: "M2", Name: "Oonagh Farrelly", Programme: "quay-mat", Days: []int{1, 4}, Since: 12, Misses: 0.15, Taps: true,
			Record: record("1964-07-30", "robin", store.PastEvent{Day: ago(150), What: "Stent after chest pain on exertion"})},
		{Tag: "N9", Name: "Teodor Vašek", Programme: "pier-chair", Days: []int{1, 4}, Since: 11, Misses: 0.1, Taps: true,
			Record: record("1955-01-21", "anchor", store.PastEvent{Day: ago(200), What: "Heart failure, stable since the spring"})},
		{Tag: "P3", Name: "Bríd Ní Choisdealbha", Programme: "pier-chair", Days: []int{0, 3}, Since: 10, Misses: 0.2,
			Record: record("1944-09-12", "feather", store.PastEvent{Day: ago(170), What: "Valve replaced through the groin"})},
		{Tag: "Q6", Name: "Marisol Etxeberria", Programme: "quay-mat", Days: []int{1, 4}, Since: 9, Misses: 0.05, Taps: true,
			Record: record("1970-03-05", "island", store.PastEvent{Day: ago(130), What: "Heart attack; stent the next day"})},
		{Tag: "R5", Name: "Desmond Achebe", Programme: "pier-chair", Days: []int{0, 3}, Since: 8, Misses: 0.1,
			Record:  record("1952-12-24", "walnut", store.PastEvent{Day: ago(140), What: "Defibrillator implanted on the left"}),
			Mishaps: map[int]Mishap{0: FeltAfterward}},
		{Tag: "S8", Name: "Liv Håkonsen", Programme: "quay-mat", Days: []int{1, 4}, Since: 7, Misses: 0.1, Taps: true,
			Record: record("1961-06-08", "thistle", store.PastEvent{Day: ago(120), What: "Stent, planned"})},
		{Tag: "T1", Name: "Cormac Whelan", Programme: "pier-chair", Days: []int{0, 3}, Since: 6, Misses: 0.3,
			Record:  record("1947-02-14", "lantern", store.PastEvent{Day: ago(160), What: "Heart attack, treated without surgery"}),
			Mishaps: map[int]Mishap{4: WalksAway}},
		{Tag: "V2", Name: "Halina Zawadzka", Programme: "quay-mat", Days: []int{1, 4}, Since: 5, Misses: 0.05, Taps: true,
			Record:  record("1966-10-19", "pebble", store.PastEvent{Day: ago(110), What: "Stent after a heart attack"}),
			Mishaps: map[int]Mishap{2: LeavesOut}},
		{Tag: "W7", Name: "Rónán Mac Giolla", Programme: "pier-chair", Days: []int{0, 3}, Since: 3, Misses: 0.1,
			Record:  record("1957-08-03", "orchard", store.PastEvent{Day: ago(115), What: "Bypass surgery, two vessels; the breastbone is slow to heal"}),
			Mishaps: map[int]Mishap{0: NotWellToday}},
		{Tag: "Y3", Name: "Ingeborg Falk", Programme: "pier-chair", Days: []int{1, 4}, Since: 2, Misses: 0,
			Record: record("1950-05-27", "velvet", store.PastEvent{Day: ago(95), What: "Heart attack; stent the same day"})},
	}
	precaution := map[string][]coach.Precaution{
		"L7": {{Kind: coach.NoFloor}, {Kind: coach.ShoulderTrouble, Side: coach.Left}},
		"P3": {{Kind: coach.NoFloor}, {Kind: coach.PoorBalance}},
		"N9": {{Kind: coach.KneeTrouble, Side: coach.Right}},
		"R5": {{Kind: coach.DeviceArm, Side: coach.Left, Since: ago(140)}},
		"S8": {{Kind: coach.WristTrouble, Side: coach.Right, Until: today.AddDays(40)}},
		"T1": {{Kind: coach.NoFloor}, {Kind: coach.LowerBackTrouble}},
		"W7": {{Kind: coach.Sternum, Since: ago(115), Until: today.AddDays(14)}, {Kind: coach.NoFloor}},
	}
	weeks, capacity := 8, 6.5
	for i := range ps {
		p := &ps[i].Record
		p.Precautions = precaution[ps[i].Tag]
		p.Screening = screening.Patient{EnduranceWeeks: yes(weeks), METs: mets(capacity)}
		for _, k := range screening.Beforehand {
			if k != protocol.Device || ps[i].Tag != "R5" {
				p.Screening.Absent = append(p.Screening.Absent, k)
			}
		}
		switch ps[i].Tag {
		case "L7", "W7":
			p.Screening.Sternotomy = p.Events[0].Day
			p.Screening.Infarction = p.Events[0].Day
		case "K4", "Q6", "V2", "Y3":
			p.Screening.Infarction, p.Screening.Stent = p.Events[0].Day, p.Events[0].Day
		case "M2", "S8":
			p.Screening.Stent = p.Events[0].Day
		case "N9":
			p.Screening.HeartFailure = true
		case "R5":
			p.Screening.Device, p.Screening.DeviceSide = p.Events[0].Day, coach.Left
			p.Screening.Conditions, p.Screening.Accepted = []protocol.Key{protocol.Device}, []protocol.Key{protocol.Device}
		}
	}
	ps[11].Record.Home = &store.Home{Emergency: "Call the emergency number, then your daughter Astrid.", Telephone: Telephone, Alone: false,
		Equipment: []string{"1 kg", "2 kg", "band 1"}, DaysBetween: 2}
	return ps
}

// First is the plan a person begins with: their programme with an alternative
// for whatever a precaution bars, unapproved.
func (p *Person) First(from, until coach.Day, limits *protocol.Protocol) *plan.Plan {
	pace := plan.UsualPace(limits)
	v := plan.Patient{Tag: p.Tag, Call: p.Record.Call, Guide: p.Record.Guide, Part: coach.Whole,
		WarmUp: limits.Seconds(protocol.WarmUpLeast), CoolDown: limits.Seconds(protocol.CoolDownLeast),
		Precautions: p.Record.Precautions}
	taken := make(map[string]bool)
	for _, pr := range catalogue.Programmes() {
		if pr.ID != p.Programme {
			continue
		}
		for _, it := range pr.Items {
			if x, ok := item(it, p.Record.Precautions, pace); ok && !taken[x.Exercise] {
				taken[x.Exercise] = true
				v.Items = append(v.Items, x)
			}
		}
	}
	return &plan.Plan{Day: from, Until: until, Clinic: Name, Voice: "en", Unit: coach.Kilogram, Pace: pace,
		Patients: []plan.Patient{v}, Protocol: limits}
}

// item is a programme's item as this person may do it.
func item(it catalogue.Item, given []coach.Precaution, pace coach.Pace) (plan.Item, bool) {
	d := coach.Dose{Load: it.Load, Reps: it.Reps, Sets: 1, Stage: it.Stage}
	e, _ := catalogue.Find(it.Exercise)
	stage, _ := catalogue.Stage(e, it.Stage)
	if _, barred := catalogue.BarredBy(stage, it.Sides, given); !barred {
		return plan.Item{Exercise: it.Exercise, Dose: d, Sides: it.Sides, Pace: pace}, true
	}
	c, ok := catalogue.Alternative(it.Exercise, given)
	if !ok {
		return plan.Item{}, false
	}
	other, _ := catalogue.Find(c.Exercise)
	stage, _ = catalogue.Stage(other, c.Stage)
	d.Stage = c.Stage
	if !catalogue.Takes(stage, d.Load.Kind()) {
		d.Load = lightest(stage)
	}
	return plan.Item{Exercise: c.Exercise, Dose: d, Sides: c.Sides, Pace: pace}, true
}

// lightest is the least an invented clinic has of the first kind of load that
// a stage takes.
func lightest(s coach.Stage) coach.Load {
	switch s.Loads[0] {
	case coach.DumbbellLoad:
		return coach.Dumbbell(1000, coach.Kilogram)
	case coach.BandLoad:
		return coach.Band(1)
	}
	return coach.Body()
}
