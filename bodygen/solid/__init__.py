"""The same body and cuts as a boundary representation in the CAD kernel. Shares no code with mesh/ past the poles."""
