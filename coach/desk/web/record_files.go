package web

import (
	"bytes"
	"fmt"
	"iter"
	"log/slog"
	"net/http"
	"strings"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/gather"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
)

// recordsPage is where data leaves the desk, and where it is kept from being
// deleted.
type recordsPage struct {
	Form      *form
	Retention int
	Can       map[string]bool
	Kept      []string // tags on legal hold
	Jumped    *desk.Jumped
}

func showRecords(v *visit) error {
	p, err := v.recordsPage(newForm())
	if err != nil {
		return err
	}
	return v.page("records", "Records", p)
}

func (v *visit) recordsPage(f *form) (recordsPage, error) {
	p := recordsPage{Form: f, Retention: v.clinic.Retention, Can: v.can(desk.ExportData, desk.ExportRecord, desk.KeepData, desk.ManageClinic)}
	var err error
	if p.Jumped, err = v.desk().ClockJumped(v.ctx(), v.who); err != nil {
		return p, err
	}
	all, err := v.desk().Store().Patients(v.ctx(), store.PatientFilter{})
	if err != nil {
		return p, fmt.Errorf("finding who is on legal hold: %w", err)
	}
	for _, who := range all {
		if who.Kept {
			p.Kept = append(p.Kept, who.Tag)
		}
	}
	return p, nil
}

// keepPatient sets or lifts legal hold, by tag: who may do so need not see
// patients.
func keepPatient(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	tag := f.need("tag", "Type the tag.")
	keep := f.Get("do") != "lift"
	if f.ok() {
		err := v.desk().KeepPatient(v.ctx(), v.who, tag, keep)
		if err == nil {
			words := "%s is on legal hold: nothing of it is deleted until that is lifted."
			if !keep {
				words = "The legal hold of %s is lifted."
			}
			return v.back("/records", words, tag)
		}
		if err := f.notThere(err, "tag"); err != nil {
			return err
		}
	}
	p, err := v.recordsPage(f)
	if err != nil {
		return err
	}
	return v.again("records", "Records", p)
}

// confirmDay says that the desk's day is right after a jump of its clock.
func confirmDay(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	if err := v.desk().DayIsRight(v.ctx(), v.who, coach.Day(f.Get("day"))); err != nil {
		return err
	}
	return v.back("/records", "Noted: the day is right. Data that is kept no longer is deleted within the hour.")
}

// sendTable streams a table of everything, or of a tag, or of some days.
func sendTable(v *visit) error {
	q := v.r.URL.Query()
	f := &form{Values: q}
	choice := gather.Choice{Tag: f.Get("tag"), Since: f.day("since"), Until: f.day("until")}
	format, err := record.ParseFormat(f.Get("format"))
	if err != nil || !f.ok() {
		return &problem{400, "That could not be read", "Go back and choose a form and days again."}
	}
	what := v.r.PathValue("what")
	write, err := v.table(what, format, choice)
	if err != nil {
		return err
	}
	name := strings.Trim(what+"-"+fileTag(choice.Tag)+"-"+fileDay(v), "-")
	v.saveAs(strings.ReplaceAll(name, "--", "-")+"."+string(format), formatTypes[format])
	if err := write(); err != nil {
		// Part of it may have gone out: what breaks off here is no whole file, and
		// the log says why.
		slog.Error("a table broke off", "what", what, "error", err)
		panic(http.ErrAbortHandler)
	}
	return nil
}

// table is a table, ready to be streamed.
func (v *visit) table(what string, format record.Format, c gather.Choice) (func() error, error) {
	clinic, err := v.gather().Clinic(v.ctx())
	if err != nil {
		return nil, err
	}
	if what == "entries" {
		all, err := v.gather().Entries(v.ctx(), c)
		return func() error { return record.WriteEntries(v.w, format, clinic, all) }, err
	}
	var write func(iter.Seq2[record.Session, error]) error
	switch what {
	case "sets":
		write = func(all iter.Seq2[record.Session, error]) error { return record.WriteSets(v.w, format, clinic, all) }
	case "sessions":
		limits, err := v.desk().Protocol(v.ctx())
		if err != nil {
			return nil, err
		}
		write = func(all iter.Seq2[record.Session, error]) error {
			return record.WriteSessions(v.w, format, clinic, limits, all)
		}
	default:
		return nil, missing("table")
	}
	all, err := v.gather().Sessions(v.ctx(), c)
	return func() error { return write(all) }, err
}

// fileTag keeps a tag in a file's name to what tags are made of.
func fileTag(tag string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return -1
	}, tag)
}

func sendFHIR(v *visit) error {
	c, err := v.gather().Chart(v.ctx(), v.r.PathValue("tag"))
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := record.FHIR(&b, c); err != nil {
		return err
	}
	return v.attach("record-"+fileTag(c.Patient.Tag)+"-"+fileDay(v)+".fhir.json", "application/fhir+json; charset=utf-8", b.Bytes())
}

func sendSessionPDF(v *visit) error {
	in, err := v.gather().Note(v.ctx(), v.r.PathValue("id"))
	if err != nil {
		return err
	}
	return v.sendNote("session", in)
}

func sendVisitPDF(v *visit) error {
	in, err := v.gather().VisitNote(v.ctx(), v.r.PathValue("id"))
	if err != nil {
		return err
	}
	return v.sendNote("visit", in)
}

func (v *visit) sendNote(of string, in record.NoteInput) error {
	var b bytes.Buffer
	if err := record.NotePDF(&b, record.Copy{Made: v.desk().Time(), By: v.who.Name}, in); err != nil {
		return err
	}
	return v.attach(of+"-"+fileTag(in.Patient.Tag)+"-"+string(in.Sessions[0].Day())+".pdf", "application/pdf", b.Bytes())
}

func sendPlanPDF(v *visit) error {
	p, err := v.planPage()
	if err != nil {
		return err
	}
	clinic, err := v.gather().Clinic(v.ctx())
	if err != nil {
		return err
	}
	rx := record.Prescription{Prescription: p.Prescription, Plan: p.Days, Expected: p.Checked.Length}
	for _, w := range p.Warnings {
		rx.Warnings = append(rx.Warnings, faultWords(w))
	}
	var b bytes.Buffer
	if err := record.ProgrammePDF(&b, record.Copy{Made: v.desk().Time(), By: v.who.Name}, clinic, p.Person.Patient, rx); err != nil {
		return err
	}
	return v.attach(fmt.Sprintf("plan-%s-%d.pdf", fileTag(p.Person.Tag), p.Version), "application/pdf", b.Bytes())
}

// papersPage is what there is to print and carry out of one patient.
type papersPage struct {
	*desk.Person
	Can map[string]bool
}

func showPapers(v *visit) error {
	who, err := v.desk().View(v.ctx(), v.who, v.r.PathValue("tag"))
	if err != nil {
		return err
	}
	sortVersions(who.Prescriptions)
	return v.page("papers", "Records of "+personTitle(who), papersPage{who, v.can(desk.ExportData, desk.ExportRecord)})
}
