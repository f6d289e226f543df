using Supervisor.Bus.Links;

namespace Supervisor.Bus.Tests.Support;

internal static class Lines
{
    /// <summary>115200 baud 8N1, the standard gap; no parity, since pseudo-terminals have none.</summary>
    public static LineSettings Usual { get; } = new(115200, LineParity.None, 1, GapRule.Standard, TimeSpan.Zero);
}
