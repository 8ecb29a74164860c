"""Runs the standards' own checker over many files, with its rules compiled once.

    python check.py STANDARDS FILE.xml ...

STANDARDS is the folder with `check.py` in it. What that one finds is not touched: it only gets the same
compiled stylesheet and the same schema for every file, which take most of its time otherwise.
"""

import functools
import pathlib
import runpy
import sys

import saxonche
from lxml import etree


class Compiled:
    """Stands for a processor, and keeps what it compiles."""

    def __init__(self, processor):
        self.xslt = processor.new_xslt30_processor()

    def new_xslt30_processor(self):
        return self

    @functools.cache
    def compile_stylesheet(self, stylesheet_file):
        return self.xslt.compile_stylesheet(stylesheet_file=stylesheet_file)


class OneForAll:
    """Stands for a processor that is made anew each time."""

    one = None

    def __init__(self, license):
        OneForAll.one = OneForAll.one or Compiled(ORIGINAL(license=license))

    def __enter__(self):
        return OneForAll.one

    def __exit__(self, *raised):
        return False


def schema(tree):
    return schema_at(tree.docinfo.URL)


@functools.cache
def schema_at(path):
    return SCHEMA(etree.parse(path))


ORIGINAL, SCHEMA = saxonche.PySaxonProcessor, etree.XMLSchema
saxonche.PySaxonProcessor, etree.XMLSchema = OneForAll, schema
checker = pathlib.Path(sys.argv[1]) / "check.py"
sys.argv = [str(checker), *sys.argv[2:]]
runpy.run_path(str(checker), run_name="__main__")
