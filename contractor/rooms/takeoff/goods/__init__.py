"""Everything but boards: frames cut from lengths, slabs, drops, sealant and screws."""
