using Supervisor.Motion.Heating;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Runtime.Axes;

/// <content>How warm the motor is by its torque: told, and warned of; it stops nothing.</content>
public sealed partial class Axis
{
    /// <summary>A warning is over, and told again, only once the heat was this much below it, percent of the trip value.</summary>
    public const double HeatingHysteresis = 5;

    // Longer than this without feedback nobody knows the load: the heat is kept, as if the motor had not cooled.
    private static readonly TimeSpan LongestSample = TimeSpan.FromSeconds(1);

    private readonly SlidingRms _torqueRms = new();
    private LoadSum _load;
    private ThermalModel? _thermal;
    private double _heat;
    private bool _heatWarned;

    /// <summary>Heat in percent of the one at which a drive trips; NaN when it is not modelled.</summary>
    private double HeatPercent => Definition.Heating is null ? double.NaN : _heat * 100;

    /// <summary>Takes the torque of a feedback as having held since the one before.</summary>
    private void Heat(TimeSpan elapsed, TimeSpan now)
    {
        if (!Coding.ReportsTorque || elapsed < TimeSpan.Zero || elapsed > LongestSample)
        {
            return;
        }

        _torqueRms.Add(Torque, elapsed, now);
        _load = _load.With(Torque, elapsed);
        if (Definition.Heating is not { } heating)
        {
            return;
        }

        _thermal ??= new ThermalModel(heating.TimeConstant, heating.ContinuousTorque);
        _heat = _thermal.After(_heat, Torque, elapsed);
        if (!_heatWarned && HeatPercent >= heating.WarnAt)
        {
            _heatWarned = true;
            Warn(FaultCode.HeatingWarning, now);
        }
        else if (_heatWarned && HeatPercent < heating.WarnAt - HeatingHysteresis)
        {
            _heatWarned = false;
        }
    }

    /// <summary>Tells something for the history that latches and stops nothing.</summary>
    internal void Warn(FaultCode code, TimeSpan now) =>
        Tell(new FaultEvent(now, Index, (short)Definition.Port, code, 0, _node.State(), _inHand.Id, Position), latched: false);
}
