package sink

import (
	"fmt"
	"sync"

	"github.com/ebitengine/purego"
)

// libasound is the part of the C library that is used here, under its own
// names without "snd_". Lengths are in frames, which in mono are samples; a
// negative result is an error number.
type libasound struct {
	cardNext func(card *int32) int32
	strerror func(code int32) string
	setError func(handler uintptr) int32

	pcmOpen    func(pcm *uintptr, name string, stream, mode int32) int32
	pcmParams  func(pcm uintptr, format, access int32, channels, rate uint32, resample int32, latencyUS uint32) int32
	pcmPrepare func(pcm uintptr) int32
	pcmRecover func(pcm uintptr, code, quiet int32) int32
	pcmWait    func(pcm uintptr, ms int32) int32
	pcmWrite   func(pcm uintptr, block *int16, frames uintptr) int
	pcmState   func(pcm uintptr) int32
	pcmDelay   func(pcm uintptr, frames *int) int32
	pcmDrop    func(pcm uintptr) int32
	pcmDrain   func(pcm uintptr) int32
	pcmClose   func(pcm uintptr) int32
}

// loadALSA loads libasound, once: no headers and no C compiler are needed to
// build, and a machine without the library only lacks this kind of sink.
var loadALSA = sync.OnceValues(func() (*libasound, error) {
	handle, err := purego.Dlopen("libasound.so.2", purego.RTLD_NOW)
	if err != nil {
		return nil, fmt.Errorf("ALSA: loading libasound: %w", err)
	}
	lib := &libasound{}
	for name, function := range map[string]any{
		"snd_card_next":             &lib.cardNext,
		"snd_strerror":              &lib.strerror,
		"snd_lib_error_set_handler": &lib.setError,
		"snd_pcm_open":              &lib.pcmOpen,
		"snd_pcm_set_params":        &lib.pcmParams,
		"snd_pcm_prepare":           &lib.pcmPrepare,
		"snd_pcm_recover":           &lib.pcmRecover,
		"snd_pcm_wait":              &lib.pcmWait,
		"snd_pcm_writei":            &lib.pcmWrite,
		"snd_pcm_state":             &lib.pcmState,
		"snd_pcm_delay":             &lib.pcmDelay,
		"snd_pcm_drop":              &lib.pcmDrop,
		"snd_pcm_drain":             &lib.pcmDrain,
		"snd_pcm_close":             &lib.pcmClose,
	} {
		symbol, err := purego.Dlsym(handle, name)
		if err != nil {
			return nil, fmt.Errorf("ALSA: libasound has no %s: %w", name, err)
		}
		purego.RegisterFunc(function, symbol)
	}
	// The library writes its own errors to stderr, over whatever the program
	// shows there; every one of them comes back as a result as well.
	lib.setError(purego.NewCallback(func(file uintptr, line int32, function uintptr, code int32, format uintptr) {}))
	return lib, nil
})

// hasCard reports whether the machine has a sound card.
func (l *libasound) hasCard() bool {
	card := int32(-1)
	return l.cardNext(&card) == 0 && card >= 0
}

// fault is an error with the library's words for a negative result.
func (l *libasound) fault(doing string, code int32) error {
	return fmt.Errorf("%s: %s", doing, l.strerror(code))
}
