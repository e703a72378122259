"""Screens an archive on a Spark cluster: each partition's lines go through `groundrule screen -`.

    screen_archive.py PROGRAM ARCHIVE RESULTS [PARTITIONS]

PROGRAM is the `groundrule` to run, sent to every machine; it needs nothing beside itself. ARCHIVE
has a record a line, RESULTS becomes a folder of JSON lines in the order of the records. MASTER in
the environment names the cluster.
"""

import os
import re
import sys

from pyspark import SparkConf, SparkContext, StorageLevel

# A line number is that of the record within its partition. Inside a JSON text a quote has a
# backslash before it, so this finds keys only.
LINE = re.compile(r'(?<!\\)"line":\d+')


def numbered(pair: tuple[str, int]) -> str:
    """A result with the line of its record within the whole archive."""
    result, index = pair
    return LINE.sub(f'"line":{index + 1}', result)


def main(program: str, archive: str, results: str, partitions: int) -> None:
    """Screens the archive; fails where a record has no answer."""
    master = os.environ.get("MASTER", "local-cluster[2,1,1024]")
    setting = SparkConf().setMaster(master).setAppName("screen")
    setting.set("spark.log.level", "ERROR").set("spark.ui.showConsoleProgress", "false")
    context = SparkContext(conf=setting)
    context.addFile(program)
    # A status from 0 to 3 says what was found. Anything else is a program that did not run to its
    # end: Spark tries that partition again.
    name = os.path.basename(program)
    command = f"sh -c './{name} screen - --as json --threads 1; test $? -le 3'"

    records = context.textFile(archive, partitions)
    answers = records.pipe(command, checkCode=True).persist(StorageLevel.DISK_ONLY)
    asked, answered = records.count(), answers.count()
    if asked != answered:
        sys.exit(f"{asked} records were asked about, {answered} answers came")
    answers.zipWithIndex().map(numbered).saveAsTextFile(results)
    print(f"{answered} records in {answers.getNumPartitions()} partitions on {master}")
    context.stop()


if __name__ == "__main__":
    if len(sys.argv) not in (4, 5):
        sys.exit(__doc__)
    main(*sys.argv[1:4], int((sys.argv[4:] or ["8"])[0]))
