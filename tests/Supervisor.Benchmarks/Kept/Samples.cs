using Supervisor.History.Entries;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;

namespace Supervisor.Benchmarks.Kept;

/// <summary>Records as machines make them.</summary>
internal static class Samples
{
    public const string RareAxis = "drum";
    private const int Axes = 16;
    private static readonly FaultCode[] Codes = [FaultCode.LinkLost, FaultCode.FollowingError, FaultCode.UnderVoltage, FaultCode.MotorBlocked];

    public static string Axis(int number) => $"axis {number % Axes}";

    public static FaultRecord Fault(int number)
    {
        var code = Codes[number / Axes % Codes.Length];
        return new FaultRecord(
            TimeSpan.FromMilliseconds(number), number % 10_000 == 0 ? RareAxis : Axis(number), "line-a", null, code, FaultCatalogue.ClassOf(code), 0x8611, AxisState.Moving, (ulong)number, number / 8.0);
    }

    public static CommandRecord Command(int number) => new(
        TimeSpan.FromMilliseconds(number), (ulong)number, "move dibber 999999 mm", "panel, process 812", Axis(number), Outcome.Refused, Refusal.PositionLimit, FaultCode.None,
        "dibber: 999999 mm is beyond its limit of 180 mm");
}
