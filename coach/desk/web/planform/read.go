package planform

import (
	"fmt"
	"net/url"
	"strconv"

	"github.com/pelletier/go-toml/v2"
)

// FromText is a plan's text as fields. The text may have any faults but those
// of TOML itself.
func FromText(text string) (Form, error) {
	var all map[string]any
	if err := toml.Unmarshal([]byte(text), &all); err != nil {
		return Form{}, fmt.Errorf("reading the plan's text: %w", err)
	}
	f := New()
	for _, key := range []string{"day", "until"} {
		f.take(key, all[key])
	}
	if pace, ok := all["pace"].(map[string]any); ok {
		for key, v := range pace {
			f.take("pace."+key, v)
		}
	}
	patients, _ := all["patient"].([]any)
	if len(patients) != 1 {
		return Form{}, fmt.Errorf("the plan's text has %d patients; a page takes one", len(patients))
	}
	patient, _ := patients[0].(map[string]any)
	for key, v := range patient {
		if key != "tag" && key != "item" && key != "precaution" {
			f.take(key, v)
		}
	}
	items, _ := patient["item"].([]any)
	for i, v := range items {
		item, _ := v.(map[string]any)
		f.Add(i, fields(item))
	}
	return f, nil
}

// fields are an item's keys as fields.
func fields(item map[string]any) url.Values {
	f := New()
	for key, v := range item {
		if key != "exercise" && key != "stage" {
			f.take(key, v)
		}
	}
	exercise, _ := written(item["exercise"])
	if stage, ok := written(item["stage"]); ok {
		exercise += "/" + stage
	}
	f.Set("what", exercise)
	return f.Values
}

func (f Form) take(name string, v any) {
	if s, ok := written(v); ok {
		f.Set(name, s)
	}
}

// written is a value as somebody would type it; false for tables and lists.
func written(v any) (string, bool) {
	switch v := v.(type) {
	case string:
		return v, true
	case int64:
		return strconv.FormatInt(v, 10), true
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64), true
	case bool:
		return strconv.FormatBool(v), true
	case toml.LocalDate:
		return v.String(), true
	}
	return "", false
}
