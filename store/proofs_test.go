package store

import (
	"fmt"
	"reflect"
	"testing"

	"stillbench/session"
)

// TestProofsComeBack: a proof comes back as it went in, and of one stack the newest few are
// kept.
func TestProofsComeBack(t *testing.T) {
	s := newLog(t)
	p := session.Proof{
		Key: "key", Character: "threads", Suits: "surfaces", Why: session.Say("so"), W: 960, H: 640, Turn: 6, Middle: 1, Touches: 2,
		Frames:  []session.ProofFrame{{Fingerprint: "a", Scale: 1, Gain: [3]float32{1, 1, 1}}, {Fingerprint: "b", Scale: 0.999, Turn: 0.01, DX: -3, DY: 4}},
		LeftOut: []session.ProofLeft{{Fingerprint: "c", Why: "it is another size"}},
	}
	if err := s.SaveProof(t.Context(), "a", p, []byte("jpeg")); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Proof(t.Context(), "key"); err != nil || !reflect.DeepEqual(got, &p) {
		t.Errorf("came back as %+v, %v", got, err)
	}
	if got, err := s.ProofPicture(t.Context(), "key"); err != nil || string(got) != "jpeg" {
		t.Errorf("its picture: %q, %v", got, err)
	}
	if got, err := s.Proof(t.Context(), "no such key"); got != nil || err != nil {
		t.Errorf("a key that is not there: %v, %v", got, err)
	}
	for i := range keptProofs {
		p.Key = fmt.Sprint("later ", i)
		if err := s.SaveProof(t.Context(), "a", p, []byte("jpeg")); err != nil {
			t.Fatal(err)
		}
	}
	if got, _ := s.Proof(t.Context(), "key"); got != nil {
		t.Error("the oldest proof of the stack is still there")
	}
	if got, _ := s.Proof(t.Context(), "later 0"); got == nil {
		t.Error("a newer one is gone")
	}
	// One that is shown again is kept before those that were not.
	if got, err := s.RecallProof(t.Context(), "later 0"); err != nil || got == nil || got.Key != "later 0" {
		t.Fatalf("recalled: %+v, %v", got, err)
	}
	for i := range keptProofs - 1 {
		p.Key = fmt.Sprint("latest ", i)
		if err := s.SaveProof(t.Context(), "a", p, []byte("jpeg")); err != nil {
			t.Fatal(err)
		}
	}
	if got, _ := s.Proof(t.Context(), "later 0"); got == nil {
		t.Error("the one that was recalled is gone")
	}
	if got, _ := s.Proof(t.Context(), "later 1"); got != nil {
		t.Error("one that was not is still there")
	}
}
