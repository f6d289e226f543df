using Supervisor.Runtime.Messaging;
using Supervisor.Records.Faults;

namespace Supervisor.Runtime.Axes;

/// <content>
/// What the axis tells the coordinator. A coordinator that hangs lets the rings fill: then the latched fault waits here until it can be
/// told, what else is told of faults is counted, and no command is taken whose reports might not fit.
/// </content>
public sealed partial class Axis
{
    /// <summary>Reports of one command: that it was taken, and its end.</summary>
    internal const int ReportsOfACommand = 2;

    /// <summary>Reports that an axis may have to make at any time: the ends of the command in hand and of the one that waits behind it.</summary>
    internal const int ReportsOfAnAxis = 2;

    private FaultEvent _untold;
    private bool _hasUntold;

    /// <summary>Faults that were not told because nobody took them.</summary>
    internal long FaultsLost { get; private set; }

    /// <summary>Tells the latched fault that found no room; called with every step of the port.</summary>
    internal void TellUntold()
    {
        if (_hasUntold && _channel.Faults.TryWrite(_untold))
        {
            _hasUntold = false;
        }
    }

    private void Tell(in FaultEvent fault, bool latched)
    {
        if (!_hasUntold && _channel.Faults.TryWrite(fault))
        {
            return;
        }

        // The one that is latched is what people will find on the axis: it is kept, whatever came before it.
        FaultsLost += !latched || _hasUntold ? 1 : 0;
        if (latched)
        {
            (_untold, _hasUntold) = (fault, true);
        }
    }

    private void Report(in AxisReport report)
    {
        if (!_channel.Reports.TryWrite(report))
        {
            throw new InvalidOperationException($"No room for the report of command {report.CommandId}: it was taken although its reports might not fit.");
        }
    }
}
