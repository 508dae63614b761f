package web

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
)

// share is the value below which a share of many lies.
func share(of float64, all []float64) float64 {
	s := slices.Sorted(slices.Values(all))
	return s[min(len(s)-1, int(of*float64(len(s))))]
}

// BenchmarkPressToMark is the time from a stop that the link has taken to its
// mark painted on an open page, in a real browser: through the rules, the
// store's disk, the news and the page. Run with -benchtime 200x for a p99.
func BenchmarkPressToMark(b *testing.B) {
	c := newClinic(b)
	for i := range 8 {
		c.station(fmt.Sprintf("Bay %d", i+1))
	}
	page := c.tab()
	page.login(store.Supervisor)
	page.until(`document.querySelector(".calm")`)
	page.do(chromedp.Evaluate[chromedp.Void](`{
		window.marks = {};
		new MutationObserver(() => {
			for (const n of document.querySelectorAll(".need")) if (!(n.id in marks)) {
				marks[n.id] = 0;
				requestAnimationFrame(() => { marks[n.id] = performance.timeOrigin + performance.now(); });
			}
		}).observe(document.querySelector('[data-block="block-needs"]'), {childList: true, subtree: true});
	}`))
	var took []float64
	for i := 0; b.Loop(); i++ {
		c.says(fmt.Sprintf("Bay %d", i%8+1), nil)
		pressed := time.Now()
		c.stop(fmt.Sprintf("Bay %d", i%8+1), "K4")
		need := c.need()
		mark := fmt.Sprintf(`need-%d`, need.ID)
		page.until(fmt.Sprintf(`marks[%q]`, mark))
		at := eval[float64](page, fmt.Sprintf(`marks[%q]`, mark))
		took = append(took, at-float64(pressed.UnixMicro())/1000)
		_, err := c.desk.Close(b.Context(), c.as(store.Supervisor), need.ID, "looked", "well")
		require.NoError(b, err)
	}
	b.ReportMetric(share(0.5, took), "p50-ms")
	b.ReportMetric(share(0.99, took), "p99-ms")
	b.ReportMetric(slices.Max(took), "max-ms")
}
