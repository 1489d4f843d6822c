"""Exchange: bed lists in (CSV, HL7 v2), open formats out (FHIR R4, JSON Schema, JSON lines, CSV)."""
