using System.Globalization;
using Supervisor.Api.V1;

namespace Supervisor.Daemon.Verbs;

/// <summary>Words for the API's values.</summary>
public static class Text
{
    /// <summary>Name of a state, as every face writes it.</summary>
    public static string Of(AxisState state) => state == AxisState.Unspecified ? "" : state.ToString();

    /// <summary>Words of a detail; empty when there is none.</summary>
    public static string Of(AxisDetail detail) => detail switch
    {
        AxisDetail.Connecting => "connecting",
        AxisDetail.Energising => "energising",
        AxisDetail.Stopping => "stopping",
        AxisDetail.Deenergising => "switching off",
        AxisDetail.Inhibited => "inhibited",
        AxisDetail.NotReferenced => "not referenced",
        AxisDetail.Pressing => "pressing",
        AxisDetail.Stopped => "stopped, to be released",
        AxisDetail.ProvingBrake => "proving its brake",
        AxisDetail.ProvingTimeout => "proving its communication time-out",
        AxisDetail.HoldingLoad => "holding its load",
        _ => "",
    };

    /// <summary>Words of where the drives' power stands.</summary>
    public static string Of(PowerState state) => state switch
    {
        PowerState.Off => "off",
        PowerState.SwitchingOn => "switching on",
        PowerState.On => "on",
        PowerState.SwitchingOff => "switching off",
        PowerState.Faulted => "faulted",
        _ => "",
    };

    /// <summary>Word of an outcome.</summary>
    public static string Of(Outcome outcome) => outcome switch
    {
        Outcome.Done => "done",
        Outcome.Replaced => "replaced",
        Outcome.Refused => "refused",
        Outcome.Failed => "failed",
        _ => "",
    };

    /// <summary>State and, behind it, what keeps the axis or what it is about.</summary>
    public static string Remark(AxisStatus axis)
    {
        ArgumentNullException.ThrowIfNull(axis);
        var words = new List<string>();
        Add(axis.Fault.Length > 0, Words(axis.Fault) + (axis.DriveCode != 0 ? $" (drive code {axis.DriveCode:X4}h)" : ""));
        Add(axis.FaultConsequenceOf.Length > 0, $"a consequence of {axis.FaultConsequenceOf}");
        Add(!axis.Online, "offline");
        Add(axis.Detail is not (AxisDetail.Unspecified or AxisDetail.Inhibited or AxisDetail.HoldingLoad), Of(axis.Detail));
        Add(
            axis.Detail == AxisDetail.HoldingLoad,
            $"its motor alone holds its load, and an interlock of category 0 or 1 lets it sink: keep away from under it, support it, then reset {axis.Name} --load-supported");
        Add(axis.StopLocked && axis.Detail != AxisDetail.Stopped, Of(AxisDetail.Stopped));
        Add(axis.HasSpeedPercent, $"moves at {Of(axis.SpeedPercent)} % of the speed asked for, since it did not follow");
        Add(axis.BrakeProof?.State == BrakeProofState.Failed, "brake failed, to be proven");
        Add(axis.BrakeProof?.State == BrakeProofState.Overdue, "brake proof overdue");
        Add(axis.TimeoutProof?.State is TimeoutProofState.Failed or TimeoutProofState.Outdated, $"communication time-out {axis.TimeoutProof?.Text}");
        Add(axis.InhibitedBy.Count > 0, $"inhibited by {string.Join(", ", axis.InhibitedBy)}");
        return string.Join("; ", words);

        void Add(bool wanted, string text)
        {
            if (wanted)
            {
                words.Add(text);
            }
        }
    }

    /// <summary>A number for a person: no more digits than help.</summary>
    public static string Of(double value) => (Math.Abs(value) < 0.0005 ? 0 : value).ToString("0.###", CultureInfo.InvariantCulture);

    /// <summary>A reason such as LINK_LOST as words.</summary>
    public static string Words(string reason)
    {
        ArgumentNullException.ThrowIfNull(reason);
        return reason.Replace('_', ' ').ToLowerInvariant();
    }

    /// <summary>A recorded time in this computer's own zone.</summary>
    public static string Time(Google.Protobuf.WellKnownTypes.Timestamp time, bool isTrusted) =>
        time.ToDateTime().ToLocalTime().ToString("yyyy-MM-dd HH:mm:ss.fff", CultureInfo.InvariantCulture) + (isTrusted ? "" : " (clock not set)");
}
