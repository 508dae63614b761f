package link

import (
	"crypto/tls"
	"fmt"
	"net/http"
	"time"

	"golang.org/x/net/http2"
)

// ping is how long a connection may be quiet before it is asked whether the
// other end is still there, and how long the answer may take.
const ping = 2 * time.Second

// Attach makes a server speak the link on the protocol name [ALPN], beside
// what it serves to browsers: h is served there and nowhere else, with the
// desk's own key, and only there is a client asked for a certificate. Call it
// once s.TLSConfig is as browsers shall have it, and before s serves; then
// serve with s.ServeTLS(l, "", "").
func Attach(s *http.Server, key Key, h http.Handler) error {
	cert, err := key.linkCertificate()
	if err != nil {
		return err
	}
	h2 := &http2.Server{ReadIdleTimeout: ping, PingTimeout: ping, MaxConcurrentStreams: 16,
		MaxReadFrameSize: 64 << 10, MaxUploadBufferPerConnection: 1 << 20, MaxUploadBufferPerStream: 1 << 20}
	if err := http2.ConfigureServer(s, h2); err != nil {
		return fmt.Errorf("preparing the link: %w", err)
	}
	own := &tls.Config{Certificates: []tls.Certificate{cert}, ClientAuth: tls.RequireAnyClientCert,
		MinVersion: tls.VersionTLS13, NextProtos: []string{ALPN}}
	browsers := s.TLSConfig
	s.TLSConfig = browsers.Clone()
	s.TLSConfig.NextProtos = append(s.TLSConfig.NextProtos, ALPN)
	s.TLSConfig.GetConfigForClient = func(hello *tls.ClientHelloInfo) (*tls.Config, error) {
		for _, p := range hello.SupportedProtos {
			if p == ALPN {
				return own, nil
			}
		}
		if browsers.GetConfigForClient != nil {
			return browsers.GetConfigForClient(hello)
		}
		return browsers, nil
	}
	s.TLSNextProto[ALPN] = func(s *http.Server, c *tls.Conn, _ http.Handler) {
		h2.ServeConn(c, &http2.ServeConnOpts{BaseConfig: s, Handler: h})
	}
	return nil
}
