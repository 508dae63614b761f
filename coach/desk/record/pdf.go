package record

import (
	"fmt"
	"io"
	"strings"
	"time"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/norm"
)

// Copy says of what and for whom an archive copy is.
type Copy struct {
	Made time.Time // the moment of making it; also the date inside the file
	By   string    // who asked for it
}

// The measures of a page, in millimetres: A4 with room to punch holes.
const (
	pageWide = 210.0
	left0    = 25.0
	right0   = 18.0
	top0     = 22.0
	bottom0  = 30.0
	textWide = pageWide - left0 - right0
	lineHigh = 5.4
)

// pages stands for the number of pages until it is known; two letters wide, as
// most such numbers nearly are.
const pages = "##"

// paper is a document being written.
type paper struct {
	*fpdf.Fpdf
	clinic   Clinic
	covers   *sfnt.Font
	replaced bool // some letter could not be shown as it is
}

// newPaper begins a document whose pages all say whose it is, and what the
// station is not.
func newPaper(c Clinic, of Copy, title, patient string) (*paper, error) {
	covers, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		return nil, fmt.Errorf("reading the font: %w", err)
	}
	p := &paper{Fpdf: fpdf.New("P", "mm", "A4", ""), clinic: c, covers: covers}
	p.AddUTF8FontFromBytes("Go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("Go", "B", gobold.TTF)
	p.AddUTF8FontFromBytes("Go Mono", "", gomono.TTF)
	p.SetCreationDate(of.Made.UTC())
	p.SetModificationDate(of.Made.UTC())
	p.SetCatalogSort(true)
	p.SetProducer("evenbell", true)
	p.SetTitle(p.show(title+", "+patient), true)
	p.SetLang("en")
	p.SetMargins(left0, top0, right0)
	p.SetAutoPageBreak(true, bottom0)
	p.AliasNbPages(pages)
	patient = p.show(patient)
	p.SetHeaderFunc(func() { p.heading(patient) })
	p.SetFooterFunc(func() { p.footing(of) })
	p.AddPage()
	p.title(title, patient)
	return p, nil
}

func (p *paper) heading(patient string) {
	p.SetY(10)
	p.font("", 9, 90)
	p.CellFormat(textWide/2, 5, p.show(p.clinic.Name), "", 0, "L", false, 0, "")
	p.CellFormat(textWide/2, 5, patient, "", 1, "R", false, 0, "")
	p.SetDrawColor(170, 170, 170)
	p.Line(left0, 16, pageWide-right0, 16)
	p.SetY(top0)
}

func (p *paper) footing(of Copy) {
	p.SetY(-22)
	p.SetDrawColor(170, 170, 170)
	p.Line(left0, p.GetY(), pageWide-right0, p.GetY())
	p.font("", 8, 90)
	p.Ln(1.5)
	p.CellFormat(textWide, 4.2, Caution, "", 1, "L", false, 0, "")
	made := "Copy made on " + p.clinic.said(of.Made)
	if of.By != "" {
		made += " for " + of.By
	}
	p.CellFormat(textWide/2+20, 4.2, p.show(made), "", 0, "L", false, 0, "")
	p.CellFormat(textWide/2-20, 4.2, fmt.Sprintf("page %d of %s", p.PageNo(), pages), "", 1, "R", false, 0, "")
}

func (p *paper) font(style string, size float64, grey int) {
	p.SetFont("Go", style, size)
	p.SetTextColor(grey, grey, grey)
}

func (p *paper) title(title, patient string) {
	p.font("B", 16, 0)
	p.MultiCell(textWide, 8, p.show(title), "", "L", false)
	p.font("", 12, 0)
	p.MultiCell(textWide, 7, patient, "", "L", false)
	p.Ln(1)
}

// keep begins a new page where fewer millimetres are left.
func (p *paper) keep(high float64) {
	_, page := p.GetPageSize()
	if p.GetY()+high > page-bottom0 {
		p.AddPage()
	}
}

// section begins one that has room for so many lines at least.
func (p *paper) section(heading string, lines int) {
	p.keep(9 + float64(lines)*lineHigh)
	p.Ln(2.5)
	p.font("B", 11, 0)
	p.CellFormat(textWide, 6.5, p.show(heading), "", 1, "L", false, 0, "")
}

func (p *paper) paragraph(s string) {
	p.font("", 10, 20)
	p.MultiCell(textWide, lineHigh, p.show(s), "", "L", false)
}

// points is a list, a point each.
func (p *paper) points(all []string) {
	p.font("", 10, 20)
	for _, s := range all {
		lines := p.SplitText(p.show(s), textWide-5)
		p.keep(float64(len(lines)) * lineHigh)
		p.CellFormat(5, lineHigh, "•", "", 0, "L", false, 0, "")
		p.MultiCell(textWide-5, lineHigh, p.show(s), "", "L", false)
	}
}

// boxed is what must not be overlooked.
func (p *paper) boxed(s string) {
	p.font("B", 11, 0)
	p.SetDrawColor(0, 0, 0)
	p.SetLineWidth(0.5)
	p.MultiCell(textWide, 8, p.show(s), "1", "L", false)
	p.SetLineWidth(0.2)
	p.Ln(1)
}

// verbatim is text as it was written, in columns of equal letters.
func (p *paper) verbatim(s string) {
	p.SetFont("Go Mono", "", 8.5)
	p.SetTextColor(20, 20, 20)
	p.MultiCell(textWide, 4.4, p.show(strings.ReplaceAll(s, "\t", "    ")), "", "L", false)
}

// cell is a column of a printed table.
type cell struct {
	name  string
	wide  float64 // share of the page
	right bool    // numbers
}

// grid prints a table whose head comes again on every page.
func (p *paper) grid(cols []cell, rows [][]string) {
	p.keep(3 * lineHigh)
	p.gridHead(cols)
	for i, row := range rows {
		high := p.rowHigh(cols, row)
		_, page := p.GetPageSize()
		if p.GetY()+high > page-bottom0 {
			p.AddPage()
			p.gridHead(cols)
		}
		p.gridRow(cols, row, high, i%2 == 1)
	}
	p.Ln(1)
}

func (p *paper) gridHead(cols []cell) {
	p.font("B", 9, 0)
	p.SetDrawColor(60, 60, 60)
	for _, c := range cols {
		p.CellFormat(c.wide*textWide, 6, p.show(c.name), "B", 0, align(c), false, 0, "")
	}
	p.Ln(6)
}

func (p *paper) rowHigh(cols []cell, row []string) float64 {
	p.font("", 9, 20)
	most := 1
	for i, c := range cols {
		most = max(most, len(p.SplitText(p.show(row[i]), c.wide*textWide)))
	}
	return float64(most)*4.6 + 1.4
}

func (p *paper) gridRow(cols []cell, row []string, high float64, shaded bool) {
	p.font("", 9, 20)
	x, y := left0, p.GetY()
	if shaded {
		p.SetFillColor(242, 242, 242)
		p.Rect(left0, y, textWide, high, "F")
	}
	for i, c := range cols {
		p.SetXY(x, y+0.7)
		p.MultiCell(c.wide*textWide, 4.6, p.show(row[i]), "", align(c), false)
		x += c.wide * textWide
	}
	p.SetXY(left0, y+high)
}

func align(c cell) string {
	if c.right {
		return "R"
	}
	return "L"
}

// show is s in letters the font has. What it lacks is shown by its base letter,
// or a question mark, and the copy says so.
func (p *paper) show(s string) string {
	var out strings.Builder
	for _, r := range norm.NFC.String(s) {
		if p.has(r) || r == '\n' {
			out.WriteRune(r)
			continue
		}
		if !unicode.IsControl(r) {
			p.replaced = true
			out.WriteRune(p.nearest(r))
		}
	}
	return out.String()
}

// nearest is a letter with as many of its marks as the font has.
func (p *paper) nearest(r rune) rune {
	parts := []rune(norm.NFD.String(string(r)))
	for n := len(parts) - 1; n > 0; n-- {
		if fewer := []rune(norm.NFC.String(string(parts[:n]))); len(fewer) == 1 && p.has(fewer[0]) {
			return fewer[0]
		}
	}
	return '?'
}

func (p *paper) has(r rune) bool {
	var b sfnt.Buffer
	i, err := p.covers.GlyphIndex(&b, r)
	return err == nil && i != 0
}

// end writes the document.
func (p *paper) end(w io.Writer) error {
	if p.replaced {
		p.Ln(2)
		p.font("", 9, 20)
		p.MultiCell(textWide, 4.6, "This copy cannot show every letter that was typed; the record at the desk has them all.", "", "L", false)
	}
	if err := p.Output(w); err != nil {
		return fmt.Errorf("writing the copy: %w", err)
	}
	return nil
}
