using Supervisor.Machine.Watching;
using Supervisor.Motion.Stopping;
using Supervisor.Records.Faults;
using Supervisor.Records.Stops;

namespace Supervisor.Machine.Stops;

/// <summary>Compares measured stops with the one of the commissioning, and warns once when they have become longer.</summary>
/// <remarks>
/// A stop from another velocity is compared with what the commissioned one would have been from there: its reaction plus a ramp at the
/// axis's deceleration. The middle of the last five counts, so that one odd stop does not warn.
/// </remarks>
internal sealed class StopTrend(MachineView view, IJournal journal)
{
    private const int Compared = 5;

    // From crawling speed the reaction decides, and it varies by a cycle.
    private const double LeastShareOfVelocity = 0.3;

    private readonly AxisTrend[] _axes = [.. view.Axes.Select(_ => new AxisTrend())];

    /// <summary>Takes a stop as measured.</summary>
    public void Note(in MeasuredStop stop)
    {
        if (view.Axes[stop.Axis] is not { Stop: { } commissioned } axis || !stop.IsComplete || stop.Category == 0
            || Math.Abs(stop.Velocity) < commissioned.Velocity * LeastShareOfVelocity)
        {
            return;
        }

        var trend = _axes[stop.Axis];
        trend.Add(StopComparison.Excess(
            stop.Velocity, stop.RestAfter, stop.Distance, commissioned.Velocity, commissioned.Time, commissioned.Distance, axis.Limits.Deceleration));
        if (trend.Middle is not { } middle)
        {
            return;
        }

        var isLonger = middle > 1 + (commissioned.WarnAbovePercent / 100);
        if (isLonger && !trend.IsTold)
        {
            journal.Fault(new FaultEvent(
                view.Now, stop.Axis, (short)axis.Port, FaultCode.StopsLonger, 0, view[stop.Axis].State, 0, view[stop.Axis].Position));
        }

        trend.IsTold = isLonger;
    }

    private sealed class AxisTrend
    {
        private readonly double[] _last = new double[Compared];
        private readonly double[] _sorted = new double[Compared];
        private int _count;

        public bool IsTold { get; set; }

        /// <summary>The middle of the last five; null before there are as many.</summary>
        public double? Middle
        {
            get
            {
                if (_count < Compared)
                {
                    return null;
                }

                _last.CopyTo(_sorted, 0);
                Array.Sort(_sorted);
                return _sorted[Compared / 2];
            }
        }

        public void Add(double excess) => _last[_count++ % Compared] = excess;
    }
}
