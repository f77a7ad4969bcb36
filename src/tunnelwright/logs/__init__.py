"""The log engine: files of the machine's logger into a store, and the store into one row per ring.

import_log(files, channel_map, store, now_ms)   -> ImportReport
rings_of(store, context)                        -> RecordTable
series_of(store, start_ms, end_ms, channels)    -> time series for a page
"""

from tunnelwright.logs.channel_map import Channel, ChannelMap, ClockOffset
from tunnelwright.logs.context import PushLimits, RecordContext, Thresholds
from tunnelwright.logs.days import LogStore
from tunnelwright.logs.engine import EngineSettings
from tunnelwright.logs.importing import ImportReport, import_log
from tunnelwright.logs.rings import RecordTable, rings_of, write_record
from tunnelwright.logs.series import ChannelSeries, series_of
from tunnelwright.logs.sniffing import Layout, Proposal, layout_of, propose_channel_map

__all__ = [
    "Channel",
    "ChannelMap",
    "ChannelSeries",
    "ClockOffset",
    "EngineSettings",
    "ImportReport",
    "Layout",
    "LogStore",
    "Proposal",
    "PushLimits",
    "RecordContext",
    "RecordTable",
    "Thresholds",
    "import_log",
    "layout_of",
    "propose_channel_map",
    "rings_of",
    "series_of",
    "write_record",
]
