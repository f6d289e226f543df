namespace Supervisor.Simulation.Plant;

/// <summary>
/// A homing method taken apart: which switch, where it is looked for first, which edge counts and in which direction it is passed.
/// Numbers as in CiA 402 object 6098h: 1–14 with index pulse, 17–30 the same without, 33/34 index only, 35/37 current position.
/// </summary>
/// <param name="Switch">The switch; null when none is needed.</param>
/// <param name="Seek">Direction of the first search while the switch is open; for index only, of the search for it.</param>
/// <param name="EdgeSide">1: the upper end of the switch's closed range counts; -1: the lower.</param>
/// <param name="Pass">Direction in which the edge, and then the index, is passed slowly.</param>
/// <param name="Index">True when the index mark after the edge is the home position.</param>
public readonly record struct HomingMethod(HomingSwitch? Switch, int Seek, int EdgeSide, int Pass, bool Index)
{
    /// <summary>Takes a method's number apart; false for one the drive does not have.</summary>
    public static bool TryGet(int number, out HomingMethod method)
    {
        bool index = number is >= 1 and <= 14;
        HomingMethod? found = (index ? number + 16 : number) switch
        {
            17 => new(HomingSwitch.NegativeLimit, -1, 1, 1, index),
            18 => new(HomingSwitch.PositiveLimit, 1, -1, -1, index),
            19 => new(HomingSwitch.PositiveHome, 1, -1, -1, index),
            20 => new(HomingSwitch.PositiveHome, 1, -1, 1, index),
            21 => new(HomingSwitch.NegativeHome, -1, 1, 1, index),
            22 => new(HomingSwitch.NegativeHome, -1, 1, -1, index),
            23 => new(HomingSwitch.HomeCam, 1, -1, -1, index),
            24 => new(HomingSwitch.HomeCam, 1, -1, 1, index),
            25 => new(HomingSwitch.HomeCam, 1, 1, -1, index),
            26 => new(HomingSwitch.HomeCam, 1, 1, 1, index),
            27 => new(HomingSwitch.HomeCam, -1, 1, 1, index),
            28 => new(HomingSwitch.HomeCam, -1, 1, -1, index),
            29 => new(HomingSwitch.HomeCam, -1, -1, 1, index),
            30 => new(HomingSwitch.HomeCam, -1, -1, -1, index),
            33 => new(null, -1, 0, -1, true),
            34 => new(null, 1, 0, 1, true),
            35 or 37 => new(null, 0, 0, 0, false),
            _ => null,
        };
        method = found ?? default;
        return found is not null;
    }
}
