"""What the bench needs as plain shapes with names: the lip, jigs, gauges, templates. No file formats (export/)."""
