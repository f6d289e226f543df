using Supervisor.Machine.Api;
using Supervisor.Runtime.Axes;
using Supervisor.Runtime.Stops;

namespace Supervisor.Scenarios.Stories.Extras;

/// <summary>What comes just when an axis is in a node that it only passes through: chance alone would seldom meet those.</summary>
public sealed class BadMoments
{
    // Number as in CiA 402 object 603Fh.
    private const ushort UnderVoltage = 0x3220;

    private static readonly AxisNode[] Short =
    [
        AxisNode.Energising, AxisNode.BrakeReleasing, AxisNode.HomeEnergising, AxisNode.HomeBrakeReleasing, AxisNode.Searching, AxisNode.HomeStopping,
        AxisNode.Halting, AxisNode.Jogging, AxisNode.StoppingToOff, AxisNode.BrakeClosing, AxisNode.PoweringOff, AxisNode.FaultStopping, AxisNode.FaultBrakeClosing,
        AxisNode.FaultPoweringOff, AxisNode.FaultClearing, AxisNode.FaultHolding,
    ];

    private static readonly AxisNode[] Proofs = [AxisNode.ProofBrakeClosing, AxisNode.ProvingBrake, AxisNode.ProofBrakeReleasing];

    private readonly StoryWorld _world;
    private readonly Dice _dice;
    private readonly People _people;
    private AxisNode? _awaited;
    private AxisNode? _awaitedInAProof;

    public BadMoments(StoryWorld world, Dice dice, People people)
    {
        ArgumentNullException.ThrowIfNull(world);
        (_world, _dice, _people) = (world, dice, people);
        world.RowSeen = OnRow;
    }

    /// <summary>Lies in wait for one of them.</summary>
    public void LieInWait()
    {
        _awaited = _dice.Pick(Short);

        // Proofs are rare: it waits for the next one.
        _awaitedInAProof ??= _dice.Pick(Proofs);
    }

    private void OnRow(int axis, AxisRow row)
    {
        if ((row.To == _awaited || row.To == _awaitedInAProof) && row.From != row.To)
        {
            (_awaited, _awaitedInAProof) = (row.To == _awaited ? null : _awaited, row.To == _awaitedInAProof ? null : _awaitedInAProof);
            var node = row.To;
            _world.Queue.After(_dice.Seconds(0, 0.06), () => Happen(axis, node));
        }
    }

    private void Happen(int axis, AxisNode node)
    {
        if (_world.Supervisor is not { } supervisor)
        {
            return;
        }

        _world.Happen("bad moment", $"{_world.Machine.Axes[axis].Name} {node}");
        switch (_dice.Below(8))
        {
            case 0:
                _people.Give(new StopCommand([axis]));
                break;
            case 1:
                _people.Give(new HaltCommand([axis]));
                break;
            case 2 or 3:
                _people.Give(new DisableCommand([axis]));
                break;
            case 4:
                _world.Drive(axis).Trip(UnderVoltage);
                break;
            default:
                Trip(supervisor.Board.Latch, axis);
                break;
        }
    }

    /// <summary>An interlock of the axis, of any stop category that it has.</summary>
    private void Trip(StopLatch latch, int axis)
    {
        var own = Enumerable.Range(0, _world.Machine.Interlocks.Count).Where(interlock => _world.Machine.Interlocks[interlock].Axes.Contains(axis)).ToArray();
        if (own.Length > 0)
        {
            latch.Trip(StopCauses.Interlock(_dice.Pick(own)));
        }
    }
}
