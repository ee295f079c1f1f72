"""Writes readings of a plain table as a workbook with Python's XlsxWriter in its mode of constant memory."""
import sqlite3
import sys

import xlsxwriter

HEADS = ["entry", "at", "job", "station", "raw", "over_wires", "pitch_diameter", "verdict"]
QUERY = """SELECT r.id, r.t_us, j.name, r.port, r.raw, r.value, r.pd, r.verdict
    FROM reading r JOIN job j ON j.id = r.job_id ORDER BY r.id"""


def main(database, out):
    book = xlsxwriter.Workbook(out, {"constant_memory": True})
    sheet = book.add_worksheet()
    places = book.add_format({"num_format": "0.00000"})
    moment = book.add_format({"num_format": "yyyy-mm-dd hh:mm:ss.000"})
    for column, head in enumerate(HEADS):
        sheet.write_string(0, column, head)
    for index, row in enumerate(sqlite3.connect(database).execute(QUERY), 1):
        sheet.write_number(index, 0, row[0])
        sheet.write_number(index, 1, 25569 + row[1] / 86400e6, moment)
        sheet.write_string(index, 2, row[2])
        sheet.write_string(index, 3, row[3])
        sheet.write_string(index, 4, row[4])
        sheet.write_number(index, 5, row[5], places)
        sheet.write_number(index, 6, round(row[6], 6), places)
        sheet.write_string(index, 7, row[7])
    book.close()


main(*sys.argv[1:])
