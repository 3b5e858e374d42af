package independent

import (
	"encoding/hex"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/osdp"
)

// packet is a question of packets.py, or its answer.
type packet struct {
	Bytes    string `json:"bytes,omitempty"`
	Wrong    string `json:"wrong"`
	Address  byte   `json:"address"`
	Reply    bool   `json:"reply"`
	Sequence byte   `json:"sequence"`
	CRC      bool   `json:"crc"`
	Security byte   `json:"security"`
	Block    string `json:"block"`
	Code     byte   `json:"code"`
	Data     string `json:"data"`
}

// The packets that Append makes are taken apart by Python, its CRC that of the standard library (binascii.crc_hqx);
// damaged ones are found out by both.
func TestPacketsAgainstPython(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 3))
	var questions []packet
	var sent [][]byte
	for range perFormat() {
		b := randomPacket(t, rnd)
		if rnd.IntN(4) == 0 {
			b[5+rnd.IntN(len(b)-5)] ^= byte(1 + rnd.IntN(255))
		}
		sent = append(sent, b)
		questions = append(questions, packet{Bytes: hex.EncodeToString(b)})
	}
	damaged := 0
	for i, want := range Ask[packet](t, "packets.py", questions) {
		p, n, err := osdp.Parse(sent[i])
		if want.Wrong != "" {
			require.Equal(t, "check", want.Wrong, "%x", sent[i])
			require.ErrorIs(t, err, osdp.ErrCheck, "%x", sent[i])
			damaged++
			continue
		}
		require.NoError(t, err, "%x", sent[i])
		require.Equal(t, len(sent[i]), n)
		got := packet{
			Address: p.Address, Reply: p.Reply, Sequence: p.Sequence, CRC: p.CRC, Security: p.Security,
			Block: hex.EncodeToString(p.Block), Code: p.Code, Data: hex.EncodeToString(p.Data),
		}
		require.Equal(t, want, got, "%x, seed %d", sent[i], seed)
	}
	assert.Greater(t, damaged, len(sent)/5)
}

func randomPacket(t *testing.T, rnd *rand.Rand) []byte {
	random := func(n int) []byte {
		b := make([]byte, n)
		for i := range b {
			b[i] = byte(rnd.Uint32())
		}
		return b
	}
	p := osdp.Packet{
		Address: byte(rnd.IntN(128)), Reply: rnd.IntN(2) == 0, Sequence: byte(rnd.IntN(4)), CRC: rnd.IntN(2) == 0,
		Code: byte(rnd.Uint32()), Data: random(rnd.IntN(60)),
	}
	if rnd.IntN(3) == 0 {
		p.Security, p.Block = byte(0x11+rnd.IntN(8)), random(rnd.IntN(3))
		if p.Security >= 0x15 {
			p.MAC = random(4)
		}
	}
	b, err := p.Append(nil)
	require.NoError(t, err)
	return b
}
