"""Rules by move: in bed, sitting up, chair, walk, stretcher, floor; the published tables row by row."""
