"""The press: HTML in, raster out, with the box of every element.

An engine is anything that keeps `Engine`; it runs in a worker process with a time and a memory limit.
"""
