package protocol

import (
	"slices"

	"evenbell/coach"
	"evenbell/coach/strict"
)

// Read reads a clinic's own file and gives the defaults with the clinic's
// values in their place. All faults are given at once, in order of line; with
// any that is more than a warning the protocol is nil.
func Read(file string, text []byte) (*Protocol, []coach.Fault) {
	d := Default()
	p := &Protocol{limits: slices.Clone(d.limits), conditions: slices.Clone(d.conditions)}
	return newReader(p, file, text, false).read()
}

// readDefault reads the file the defaults stand in.
func readDefault(file string, text []byte) (*Protocol, []coach.Fault) {
	return newReader(&Protocol{}, file, text, true).read()
}

// reader fills a protocol from one file.
type reader struct {
	p        *Protocol
	file     *strict.File
	defining bool // the file brings its keys with it
	given    map[Key]*strict.Table
	signOff  SignOff
}

func newReader(p *Protocol, file string, text []byte, defining bool) *reader {
	return &reader{p: p, file: strict.Parse(file, text), defining: defining, given: map[Key]*strict.Table{}}
}

func (r *reader) read() (*Protocol, []coach.Fault) {
	root := r.file.Root()
	if r.file.Format("protocol", 1) {
		r.p.name, _ = root.Text("name", strict.Required)
		r.p.edition, _ = root.Text("edition", strict.Optional)
		r.readSignOff(root)
		limits, _ := root.Tables("limit", strict.Optional)
		for _, t := range limits {
			r.limit(t)
		}
		r.p.place = map[Key]int{}
		for i, l := range r.p.limits {
			r.p.place[l.Key] = i
		}
		conditions, _ := root.Tables("condition", strict.Optional)
		for _, t := range conditions {
			r.condition(t)
		}
		r.checkOrder()
	}
	faults := r.file.Faults()
	if len(coach.Errors(faults)) > 0 {
		return nil, faults
	}
	return r.p, faults
}

// readSignOff reads who stands for the whole file.
func (r *reader) readSignOff(root *strict.Table) {
	t, ok := root.Table("sign_off", strict.Optional)
	if ok {
		r.signOff = signOff(t)
	} else if !r.defining && !root.Has("sign_off") {
		root.Warn("", "nobody has signed this protocol; add [sign_off] with by and on")
	}
}

func signOff(t *strict.Table) SignOff {
	var s SignOff
	s.By, _ = t.Text("by", strict.Required)
	s.On, _ = t.Day("on", strict.Required)
	return s
}

// key reads which value a table is about; false where nothing more of it can
// be judged. known are the keys of its kind.
func (r *reader) key(t *strict.Table, known []Key) (Key, bool) {
	if r.defining {
		k, ok := t.Text("key", strict.Required)
		return Key(k), ok && r.first(t, Key(k))
	}
	text, ok := t.Text("key", strict.Required)
	if !ok {
		return "", false
	}
	if !slices.Contains(known, Key(text)) {
		words := make([]string, len(known))
		for i, k := range known {
			words[i] = string(k)
		}
		hint := ""
		if near := strict.Nearest(text, words); near != "" {
			hint = "; did you mean \"" + near + "\"?"
		}
		t.Fault("key", "%q is not known here%s; desk protocol show lists them all", text, hint)
		return "", false
	}
	return Key(text), r.first(t, Key(text))
}

// first notes that a key was given, and refuses it the second time.
func (r *reader) first(t *strict.Table, k Key) bool {
	if before, twice := r.given[k]; twice {
		t.Fault("key", "%s is given twice: already on line %d", k, before.LineOf("key"))
		return false
	}
	r.given[k] = t
	return true
}

func (r *reader) limit(t *strict.Table) {
	var known []Key
	for _, l := range r.p.limits {
		known = append(known, l.Key)
	}
	k, ok := r.key(t, known)
	value, read := t.Number("value", strict.Required)
	sources, sign := r.sources(t), r.signOffOf(t)
	if r.defining {
		r.p.limits = append(r.p.limits, define(t, k, value, sources))
		return
	}
	if !ok || !read {
		return
	}
	l := &r.p.limits[slices.Index(known, k)]
	if fault := l.refuse(value); fault != "" {
		t.Fault("value", "%s", fault)
		return
	}
	l.Value, l.Sources, l.SignOff = value, append(sources, l.Sources...), sign
}

func define(t *strict.Table, k Key, value float64, sources []Source) Limit {
	l := Limit{Key: k, Value: value, Sources: sources}
	l.Title, _ = t.Text("title", strict.Required)
	l.Unit, _ = t.Text("unit", strict.Required)
	l.Least, _ = t.Number("least", strict.Required)
	l.Most, _ = t.Number("most", strict.Required)
	if fault := l.refuse(value); fault != "" {
		t.Fault("value", "%s", fault)
	}
	return l
}

func (r *reader) condition(t *strict.Table) {
	var known []Key
	for _, c := range r.p.conditions {
		known = append(known, c.Key)
	}
	k, ok := r.key(t, known)
	verdict, read := strict.Choice(t, "verdict", strict.Required, verdicts...)
	sources, sign := r.sources(t), r.signOffOf(t)
	if r.defining {
		title, _ := t.Text("title", strict.Required)
		r.p.conditions = append(r.p.conditions, Condition{Key: k, Title: title, Verdict: verdict, Sources: sources})
		return
	}
	if !ok || !read {
		return
	}
	c := &r.p.conditions[slices.Index(known, k)]
	c.Verdict, c.Sources, c.SignOff = verdict, append(sources, c.Sources...), sign
}

// sources reads where a value comes from: the clinic's file itself, where it
// names nothing else.
func (r *reader) sources(t *strict.Table) []Source {
	need := strict.Need(r.defining)
	tables, _ := t.Tables("source", need)
	var out []Source
	for _, s := range tables {
		var src Source
		src.Name, _ = s.Text("name", strict.Required)
		src.Edition, _ = s.Text("edition", strict.Optional)
		src.Says, _ = s.Text("says", need)
		src.Confidence, _ = strict.Choice(s, "confidence", need, confidences...)
		if src.Confidence == "" {
			src.Confidence = ClinicsOwn
		}
		out = append(out, src)
	}
	if len(out) == 0 && !r.defining {
		out = []Source{{Name: r.p.name, Edition: r.p.edition, Confidence: ClinicsOwn}}
	}
	return out
}

func (r *reader) signOffOf(t *strict.Table) SignOff {
	if sub, ok := t.Table("sign_off", strict.Optional); ok {
		return signOff(sub)
	}
	return r.signOff
}
