"""The handbook as pages: values with their sources."""
