"""Triangles: the body and its cut pieces as closed meshes, and all measured on them. Never loads the CAD kernel."""
