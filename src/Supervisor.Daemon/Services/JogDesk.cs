using System.Runtime.CompilerServices;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;

namespace Supervisor.Daemon.Services;

/// <summary>The presses of jog buttons by grant. Ids of a grant only grow, so that no ended press needs to be remembered to stay ended.</summary>
public sealed class JogDesk(MachineControl control)
{
    private readonly ConditionalWeakTable<AuthorityGrant, Hand> _hands = [];

    /// <summary>Begins a press with a new id, or refreshes the one that holds.</summary>
    /// <exception cref="Grpc.Core.RpcException">The id is an earlier press's.</exception>
    public JogPress Press(AuthorityGrant grant, ulong id, JogCommand jog)
    {
        var hand = _hands.GetOrCreateValue(grant);
        lock (hand)
        {
            if (id < hand.LastId || (id == hand.LastId && hand.Press is null))
            {
                throw ApiErrors.Refuse(Refusal.JogEnded, $"press {id} has ended: a new press needs an id above {hand.LastId}", "press_id");
            }

            if (id > hand.LastId)
            {
                hand.Press?.Release();
                hand.LastId = id;
                hand.Jog = jog;
                hand.Press = control.Jog(jog, grant);
            }
            else if (hand.Jog!.Axis != jog.Axis || hand.Jog.Positive != jog.Positive)
            {
                hand.Press!.Release();
                throw ApiErrors.Refuse(Refusal.InvalidArgument, $"press {id} moves another way: end it, then press with a new id", "press_id");
            }
            else
            {
                hand.Press!.Refresh();
            }

            return hand.Press!;
        }
    }

    /// <summary>Ends a press; one that has ended stays ended.</summary>
    public void End(AuthorityGrant grant, ulong id)
    {
        var hand = _hands.GetOrCreateValue(grant);
        lock (hand)
        {
            if (id == hand.LastId)
            {
                hand.Press?.Release();
            }
            else if (id > hand.LastId)
            {
                // Overtook its own first call, which then never moves anything.
                hand.Press?.Release();
                hand.LastId = id;
                hand.Press = null;
            }
        }
    }

    private sealed class Hand
    {
        public ulong LastId { get; set; }

        public JogCommand? Jog { get; set; }

        public JogPress? Press { get; set; }
    }
}
