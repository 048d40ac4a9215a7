# ruff: noqa: E501
"""Small AGS files with invented data, and ways to break them."""

GIVEN = {
    "issue": "1",
    "issue_date": "2031-05-02",
    "producer": "Maker Ltd",
    "status": "Draft",
    "recipient": "Asker Ltd",
    "project_id": "J-1",
}

GROUPS = {
    "PROJ": [["PROJ_ID", "PROJ_NAME", "PROJ_LOC", "PROJ_CLNT"], [""] * 4, ["ID", "X", "X", "X"],
             ["J-1", 'The "Moss" line', "Mossby", "Nobody Ltd"]],
    "TRAN": [["TRAN_ISNO", "TRAN_DATE", "TRAN_AGS"], ["", "yyyy-mm-dd", ""], ["X", "DT", "X"],
             ["1", "2031-05-01", "4.1.1"]],
    "DICT": [["DICT_TYPE", "DICT_GRP", "DICT_HDNG", "DICT_STAT", "DICT_DTYP", "DICT_DESC", "DICT_UNIT"],
             [""] * 7, ["PA", "X", "X", "PA", "PT", "X", "PU"],
             ["HEADING", "SCPG", "SCPG_SLVA", "OTHER", "1DP", "Sleeve area", "cm2"]],
    "LOCA": [["LOCA_ID", "LOCA_NATE", "LOCA_NATN", "LOCA_GREF", "LOCA_GL", "LOCA_STAR", "LOCA_TERM",
              "LOCA_NATD", "LOCA_LAT", "LOCA_LON"],
             ["", "m", "m", "", "m", "yyyy-mm-dd", "", "", "", ""],
             ["ID", "2DP", "2DP", "PA", "2DP", "DT", "X", "X", "DMS", "DMS"],
             ["MB-1", "412000.50", "301000.25", "OSGB", "12.34", "2031-04-02", "maximum push force",
              "OD Newlyn", "52:36:00", "-1:30:00"],
             ["MB-2", "412010.00", "301000.00", "OSGB", "12.40", "2031-04-03", "", "", "", ""]],
    "HDPH": [["LOCA_ID", "HDPH_TOP", "HDPH_BASE", "HDPH_TYPE"], ["", "m", "m", ""],
             ["ID", "2DP", "2DP", "PA"], ["MB-1", "0.00", "1.20", "IP"]],
    "SCPG": [["LOCA_ID", "SCPG_TESN", "SCPG_TYPE", "SCPG_REF", "SCPG_CSA", "SCPG_WAT", "SCPG_WATA",
              "SCPG_METH", "SCPG_CAR", "SCPG_SLVA"],
             ["", "", "", "", "cm2", "m", "", "", "", "cm2"],
             ["ID", "X", "PA", "X", "0DP", "2DP", "X", "X", "3DP", "1DP"],
             ["MB-1", "1", "PC", "C-77", "10", "1.50", "dip in MB-0", "ISO 22476-1 class 2", "0.800",
              "150.0"],
             ["MB-2", "1", "EC", "C-78", "15", "", "", "", "", ""]],
    "SCPT": [["LOCA_ID", "SCPG_TESN", "SCPT_DPTH", "SCPT_RES", "SCPT_FRES", "SCPT_PWP2", "SCPT_SLP1",
              "SCPT_PH", "SCPT_REM"],
             ["", "", "m", "MPa", "kN/m2", "MPa", "deg", "", ""],
             ["ID", "X", "2DP", "3DP", "1DP", "4DP", "1DP", "1DP", "X"],
             ["MB-1", "1", "1.22", "0.410", "", "0.0031", "0.1", "6.9", ""],
             ["MB-1", "1", "1.24", "0.432", "8.1", "0.0042", "0.1", "6.8", "stone, heard"],
             ["MB-1", "1", "1.26", "0.455", "8.6", "", "0.2", "", ""],
             ["MB-2", "1", "0.02", "5.100", "51.0", "", "", "", ""],
             ["MB-2", "1", "0.04", "5.200", "52.0", "", "", "", ""]],
    "SCDG": [["LOCA_ID", "SCPG_TESN", "SCDG_DPTH", "SCDG_T"], ["", "", "m", "s"],
             ["ID", "X", "2DP", "1DP"], ["MB-1", "1", "1.26", "258.5"]],
    "SCDT": [["LOCA_ID", "SCPG_TESN", "SCDG_DPTH", "SCDT_SECS", "SCDT_PWP2"],
             ["", "", "m", "s", "MPa"], ["ID", "X", "2DP", "1DP", "4DP"],
             ["MB-1", "1", "1.26", "0.0", "0.1200"], ["MB-1", "1", "1.26", "10.0", "0.1100"]],
}  # fmt: skip


def line(*fields):
    return ",".join('"' + field.replace('"', '""') + '"' for field in fields)


def edition_4(groups=GROUPS, end="\r\n"):
    rows = []
    for name, (headings, units, types, *data) in groups.items():
        rows += [line("GROUP", name), line("HEADING", *headings), line("UNIT", *units)]
        rows += [line("TYPE", *types), *(line("DATA", *row) for row in data), ""]
    return end.join(rows) + end


EDITION_3 = "\r\n".join(
    [
        line("**PROJ"),
        line("*PROJ_ID", "*PROJ_NAME", "*PROJ_AGS"),
        line("J-3", "Old moss", "3.1"),
        "",
        line("**HOLE"),
        line("*HOLE_ID", "*HOLE_NATE", "*HOLE_NATN", "*HOLE_GL") + ",",
        line("*HOLE_STAR", "*?HOLE_DOOR"),
        line("<UNITS>", "m", "m", "m") + ",",
        line("dd/mm/yyyy", ""),
        line("OM-1", "1000.0", "2000.0", "3.50", "11/0/96", "left "),
        line("<CONT>", "", "", "", "", "side"),
        "",
        line("**STCN"),
        line("*HOLE_ID", "*STCN_DPTH", "*STCN_REF", "*STCN_RES", "*STCN_FRES", "*STCN_PWP2"),
        line("<UNITS>", "m", "", "MN/m2", "kN/m2", "kN/m2"),
        line("OM-1", " 0.000", "K-5", " 0.0994", "  2.0", "   0.0"),
        line("OM-1", " 0.020", "", " 0.2000", "%1006.6", "- 0.012"),
        line("OM-1", " 0.020", "", "- 0.0100", " -3.0", "   1.5"),
        line("OM-2", " 0.020", "", " 1.0000", "  9.0", ""),
        "",
        line("**IPRM"),
        line("*HOLE_ID", "*IPRM_TOP", "*IPRM_TYPE", "*IPRM_REM"),
        line("OM-1", "0.02", "Dissipation", "2.00hr"),
        "",
    ]
)
