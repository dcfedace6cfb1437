package projections

import (
	"bytes"
	"fmt"

	"github.com/klauspost/compress/zstd"
)

// A chunk is a run of records of one facility, a line each. Records are alike,
// so a chunk of them shrinks to about an eighth; that is what the archive's
// size, its writing and its memory are made of. The first byte says how the
// rest is kept.
const (
	chunkPlain  = 0
	chunkPacked = 1
	// packFrom is the least number of records worth packing: a fact that comes
	// alone has nothing to be alike to.
	packFrom = 4
)

// packer packs and unpacks chunks. It is made once a store: its tables are
// large, and it may be used by many readers at once.
type packer struct {
	in  *zstd.Encoder
	out *zstd.Decoder
}

func newPacker() (packer, error) {
	in, err := zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedFastest), zstd.WithEncoderConcurrency(1), zstd.WithWindowSize(64<<10), zstd.WithLowerEncoderMem(true))
	if err != nil {
		return packer{}, err
	}
	out, err := zstd.NewReader(nil, zstd.WithDecoderConcurrency(2), zstd.WithDecoderLowmem(true), zstd.WithDecoderMaxMemory(64<<20))
	return packer{in, out}, err
}

func (p packer) pack(lines [][]byte) []byte {
	joined := bytes.Join(lines, []byte{'\n'})
	if len(lines) < packFrom {
		return append([]byte{chunkPlain}, joined...)
	}
	return p.in.EncodeAll(joined, append(make([]byte, 0, len(joined)/4), chunkPacked))
}

// unpack gives the lines of a chunk, in memory of their own.
func (p packer) unpack(chunk []byte) ([][]byte, error) {
	if len(chunk) == 0 {
		return nil, fmt.Errorf("%w: an empty chunk of records", ErrFiles)
	}
	how, body := chunk[0], chunk[1:]
	switch how {
	case chunkPlain:
		return bytes.Split(bytes.Clone(body), []byte{'\n'}), nil
	case chunkPacked:
		joined, err := p.out.DecodeAll(body, nil)
		if err != nil {
			return nil, fmt.Errorf("%w: unpack a chunk of records: %w", ErrFiles, err)
		}
		return bytes.Split(joined, []byte{'\n'}), nil
	}
	return nil, fmt.Errorf("%w: a chunk of records is kept in a way (%d) that this program does not know", ErrFiles, how)
}
