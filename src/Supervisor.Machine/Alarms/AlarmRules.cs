namespace Supervisor.Machine.Alarms;

/// <summary>Figures that decide when an alarm is named chattering or stale.</summary>
/// <remarks>More than 3 a minute and longer than 24 h: common figures of ISA-18.2 and EEMUA 191 as told by secondary texts. The ends are our own.</remarks>
internal static class AlarmRules
{
    /// <summary>It chatters once it was told more often than this within <see cref="ChatterWindow"/>.</summary>
    public const int ChatterAbove = 3;

    /// <summary>It chatters no more once it was told at most once within this time.</summary>
    public static readonly TimeSpan ChatterWindow = TimeSpan.FromMinutes(1);

    /// <summary>It is stale once its condition, or its latch, has stood this long without a break; until that ends.</summary>
    public static readonly TimeSpan StaleAfter = TimeSpan.FromHours(24);

    /// <summary>An alarm that an earlier run left is judged this long after its source was met; what is told again until then is the same one.</summary>
    public static readonly TimeSpan SameAfterStart = TimeSpan.FromSeconds(5);

    /// <summary>An alarm of the machine file that an earlier run left, and that is not raised within this time after the start, has ended.</summary>
    public static readonly TimeSpan OwnAfterStart = TimeSpan.FromSeconds(10);

    /// <summary>The longest that an alarm of high priority may be out of service, whatever the machine file says: it tells of what may hurt someone. Our own figure.</summary>
    public static readonly TimeSpan LongestHigh = TimeSpan.FromMinutes(15);

    /// <summary>Alarms that are kept at most.</summary>
    public const int MostKept = 1_000;

    /// <summary>Alarms that are out of service at most, so that they leave room for those that stand.</summary>
    public const int MostOutOfService = 100;

    /// <summary>Shortest time between two publications.</summary>
    public static readonly TimeSpan PublishInterval = TimeSpan.FromMilliseconds(100);
}
