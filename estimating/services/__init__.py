"""What users do with findings, catalogues and quotes, one module for each thing."""
