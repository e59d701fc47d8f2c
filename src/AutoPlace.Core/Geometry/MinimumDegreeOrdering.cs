namespace AutoPlace.Geometry;

/// <summary>
/// An elimination order of a sparse symmetric matrix that keeps the factor sparse: approximate minimum degree (Amestoy,
/// Davis and Duff 1996, SIAM J Matrix Anal Appl 17(4), written from the paper's description) on a quotient graph, in
/// which the clique that an eliminated variable leaves behind is kept as a list of its members, an element. Variables with the same
/// neighbours are merged and eliminated together.
/// </summary>
internal sealed class MinimumDegreeOrdering
{
    private const int None = -1;

    private readonly int _n;

    /// <summary>Variables next to a variable by an original entry that no element covers yet.</summary>
    private readonly List<int>[] _neighbours;

    /// <summary>Elements that a variable belongs to.</summary>
    private readonly List<int>[] _elements;

    /// <summary>Members of an element, named after the variable whose elimination made it; null when absorbed.</summary>
    private readonly List<int>?[] _members;

    /// <summary>Number of variables merged into one; 0 for one that was merged into another or is eliminated.</summary>
    private readonly int[] _weight;

    /// <summary>Upper bound on the weight that a variable touches.</summary>
    private readonly int[] _degree;

    /// <summary>Of what a member of the current element touches, the weight outside the element.</summary>
    private readonly int[] _outsideDegree;
    private readonly int[] _hash;

    /// <summary>Variables merged into this one, to be numbered right after it.</summary>
    private readonly List<int>?[] _merged;
    private readonly DegreeLists _byDegree;
    private readonly int[] _mark;
    private int _stamp;

    /// <summary>For an element, the weight of its members outside the current one, valid when stamped.</summary>
    private readonly int[] _outside;
    private readonly int[] _outsideStamp;

    private readonly Predicate<int> _isGone;
    private readonly Predicate<int> _isCovered;
    private readonly Predicate<int> _isAbsorbed;
    private readonly Comparison<int> _byHash;

    private MinimumDegreeOrdering(SparseSymmetricMatrix matrix)
    {
        _n = matrix.Order;
        _neighbours = new List<int>[_n];
        _elements = new List<int>[_n];
        _members = new List<int>?[_n];
        _merged = new List<int>?[_n];
        _weight = new int[_n];
        _degree = new int[_n];
        _mark = new int[_n];
        _outside = new int[_n];
        _outsideStamp = new int[_n];
        _outsideDegree = new int[_n];
        _hash = new int[_n];
        _isGone = i => _weight[i] == 0;
        _isCovered = i => _weight[i] == 0 || _mark[i] == _stamp;
        _isAbsorbed = e => _members[e] is null || _outside[e] == 0;
        _byHash = (i, j) => _hash[i] != _hash[j] ? _hash[i].CompareTo(_hash[j]) : i.CompareTo(j);
        for (int i = 0; i < _n; i++)
        {
            (_neighbours[i], _elements[i], _weight[i]) = ([], [], 1);
        }

        for (int c = 0; c < _n; c++)
        {
            foreach (int r in matrix.Rows[matrix.ColumnStarts[c]..matrix.ColumnStarts[c + 1]])
            {
                if (r != c)
                {
                    _neighbours[c].Add(r);
                    _neighbours[r].Add(c);
                }
            }
        }

        _byDegree = new DegreeLists(_n);
        for (int i = _n - 1; i >= 0; i--)
        {
            _degree[i] = _neighbours[i].Count;
            _byDegree.Add(i, _degree[i]);
        }
    }

    /// <summary>Finds an order.</summary>
    /// <param name="matrix">The pattern; values don't matter.</param>
    /// <returns>The variables in the order of their elimination.</returns>
    public static int[] Order(SparseSymmetricMatrix matrix) => new MinimumDegreeOrdering(matrix).Run();

    private int[] Run()
    {
        var order = new List<int>(_n);
        while (order.Count < _n)
        {
            int pivot = _byDegree.RemoveSmallest();
            List<int> members = MakeElement(pivot);
            Number(pivot, order);
            CountOutside(members);
            Prune(pivot, members, order);
            MergeAlike(members);
            members.RemoveAll(_isGone);
            UpdateDegrees(members, order.Count);
            _members[pivot] = members.Count > 0 ? members : null;
        }

        return [.. order];
    }

    private void UpdateDegrees(List<int> members, int numbered)
    {
        int clique = 0;
        foreach (int i in members)
        {
            clique += _weight[i];
        }

        foreach (int i in members)
        {
            // The paper's bounds on the true degree: what is left; grown by the new clique; what the lists add up to.
            int inClique = clique - _weight[i];
            int bound = Math.Min(_degree[i] + inClique, _outsideDegree[i] + inClique);
            _degree[i] = Math.Min(bound, _n - numbered - _weight[i]);
            _byDegree.Add(i, _degree[i]);
        }
    }

    /// <summary>The clique that the pivot's elimination makes: all variables that it touches. Elements in it are absorbed.</summary>
    private List<int> MakeElement(int pivot)
    {
        _stamp++;
        _mark[pivot] = _stamp;
        var members = new List<int>();
        void Collect(List<int> variables)
        {
            foreach (int i in variables)
            {
                if (_weight[i] > 0 && _mark[i] != _stamp)
                {
                    _mark[i] = _stamp;
                    members.Add(i);
                }
            }
        }

        Collect(_neighbours[pivot]);
        foreach (int e in _elements[pivot])
        {
            if (_members[e] is List<int> absorbed)
            {
                Collect(absorbed);
                _members[e] = null;
            }
        }

        foreach (int i in members)
        {
            _byDegree.Remove(i, _degree[i]);
        }

        return members;
    }

    private void Number(int variable, List<int> order)
    {
        _weight[variable] = 0;
        order.Add(variable);
        if (_merged[variable] is List<int> others)
        {
            order.AddRange(others);
        }
    }

    /// <summary>For all elements next to the members: the weight of what they have outside.</summary>
    private void CountOutside(List<int> members)
    {
        foreach (int i in members)
        {
            foreach (int e in _elements[i])
            {
                if (_members[e] is not List<int> list)
                {
                    continue;
                }

                if (_outsideStamp[e] != _stamp)
                {
                    _outsideStamp[e] = _stamp;
                    _outside[e] = 0;
                    list.RemoveAll(_isGone);
                    foreach (int j in list)
                    {
                        _outside[e] += _weight[j];
                    }
                }

                _outside[e] -= _weight[i];
            }
        }
    }

    /// <summary>Prunes the members' lists, adds up what they still touch, and numbers those that touch nothing else.</summary>
    private void Prune(int pivot, List<int> members, List<int> order)
    {
        foreach (int i in members)
        {
            // What lies inside the new clique needs no entry of its own; elements wholly inside it vanish.
            List<int> neighbours = _neighbours[i], elements = _elements[i];
            neighbours.RemoveAll(_isCovered);
            elements.RemoveAll(_isAbsorbed);
            int outside = 0, hash = 0;
            foreach (int j in neighbours)
            {
                outside += _weight[j];
                hash += j;
            }

            foreach (int e in elements)
            {
                outside += _outside[e];
                hash += e;
            }

            elements.Add(pivot);
            _outsideDegree[i] = outside;
            _hash[i] = hash;
        }

        foreach (int i in members)
        {
            if (_neighbours[i].Count == 0 && _elements[i].Count == 1)
            {
                Number(i, order);
            }
        }
    }

    /// <summary>Merges members that have the same neighbours and elements.</summary>
    private void MergeAlike(List<int> members)
    {
        members.Sort(_byHash);
        for (int k = 0; k < members.Count; k++)
        {
            int i = members[k];
            for (int l = k + 1; _weight[i] > 0 && l < members.Count && _hash[members[l]] == _hash[i]; l++)
            {
                if (_weight[members[l]] > 0 && AreAlike(i, members[l]))
                {
                    Merge(i, members[l]);
                }
            }
        }
    }

    private bool AreAlike(int i, int j)
    {
        if (_neighbours[i].Count != _neighbours[j].Count || _elements[i].Count != _elements[j].Count)
        {
            return false;
        }

        return ContainsAll(_neighbours[i], _neighbours[j]) && ContainsAll(_elements[i], _elements[j]);
    }

    /// <summary>Lists without repeats, of equal length and short: a search beats sorting.</summary>
    private static bool ContainsAll(List<int> list, List<int> wanted)
    {
        foreach (int item in wanted)
        {
            if (!list.Contains(item))
            {
                return false;
            }
        }

        return true;
    }

    private void Merge(int into, int other)
    {
        _weight[into] += _weight[other];
        _weight[other] = 0;
        List<int> list = _merged[into] ??= [];
        list.Add(other);
        if (_merged[other] is List<int> others)
        {
            list.AddRange(others);
            _merged[other] = null;
        }
    }

    /// <summary>Variables by degree, as doubly linked lists.</summary>
    private sealed class DegreeLists(int count)
    {
        private readonly int[] _first = Filled(count + 1);
        private readonly int[] _next = Filled(count);
        private readonly int[] _previous = Filled(count);
        private int _smallest;

        public void Add(int variable, int degree)
        {
            (_next[variable], _previous[variable]) = (_first[degree], None);
            if (_first[degree] != None)
            {
                _previous[_first[degree]] = variable;
            }

            _first[degree] = variable;
            _smallest = Math.Min(_smallest, degree);
        }

        public void Remove(int variable, int degree)
        {
            (int next, int previous) = (_next[variable], _previous[variable]);
            if (next != None)
            {
                _previous[next] = previous;
            }

            if (previous != None)
            {
                _next[previous] = next;
            }
            else
            {
                _first[degree] = next;
            }
        }

        public int RemoveSmallest()
        {
            while (_first[_smallest] == None)
            {
                _smallest++;
            }

            int variable = _first[_smallest];
            Remove(variable, _smallest);
            return variable;
        }

        private static int[] Filled(int length)
        {
            var array = new int[length];
            Array.Fill(array, None);
            return array;
        }
    }
}
