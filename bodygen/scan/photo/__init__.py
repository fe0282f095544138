"""A bait traced from a photograph: the page that it lies on, the camera, the outline in the picture, the surface."""
