"""Time that polars and pandas take to read a log into typed columns, one thread each, least of several rounds.

usage: beside.py LOG.csv DELIMITER    (called by beside.rs)
Times are parsed to moments and decimal commas to numbers, as the log has them; rows keep no origin.
"""
import sys
import time

import pandas
import polars

ROUNDS = 5


def least(work):
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def main(path, delimiter):
    comma = delimiter == ";"
    with open(path, "rb") as file:
        data = file.read()
    moment = "Date" if comma else "Time"
    form = "%d.%m.%Y %H:%M:%S" if comma else "%Y-%m-%dT%H:%M:%S%z"

    def with_polars():
        frame = polars.read_csv(data, separator=delimiter, decimal_comma=comma)
        return frame.with_columns(polars.col(moment).str.to_datetime(form))

    def with_pandas():
        import io
        frame = pandas.read_csv(io.BytesIO(data), sep=delimiter, decimal="," if comma else ".")
        frame[moment] = pandas.to_datetime(frame[moment], format=form)
        return frame

    print("polars %s, one thread %.6f" % (polars.__version__, least(with_polars)))
    print("pandas %s %.6f" % (pandas.__version__, least(with_pandas)))


main(*sys.argv[1:])
